import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { cautionsFor, loudPart } from '../../core/scenario/cautions.ts';
import { plausibilityWarnings } from '../../core/scenario/plausibility.ts';
import type { Bench } from '../model/bench.ts';
import { BenchController } from './benchController.ts';
import { sharedStyles } from './sharedStyles.ts';

/**
 * What somebody who did this to a person would have to mind, and which settings are unusual: one line that opens into
 * all of it.
 *
 * Nothing unusual is named while a lesson keeps settings out of sight: the names and values would give them away.
 */
@customElement('sweep-cautions')
export class SweepCautions extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      :host { display: block; min-width: 0; }
      summary { cursor: pointer; padding: 0.1rem 0; }
      .loud summary, .unusual { color: var(--flag); font-weight: 600; }
      .unusual { font-weight: 600; }
      li { overflow-wrap: anywhere; }
      ul { margin: 0.2rem 0 0.3rem; padding-left: 1.1rem; max-width: 72ch; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;

  constructor() {
    super();
    new BenchController(this, () => {}, ['settings']);
  }

  override render() {
    const { scenario, keepsSecrets } = this.bench;
    const sentences = cautionsFor(scenario);
    const loud = loudPart(scenario);
    const words = loud === null ? 'No diagnosis; local protocol first.' : `Mind the ear: ${loud} is loud.`;
    const unusual = keepsSecrets ? [] : plausibilityWarnings(scenario);
    return html`<details class=${loud === null ? '' : 'loud'}>
      <summary>${words} Cautions (${sentences.length})${
        unusual.length > 0 ? html` <span class="unusual">Unusual settings (${unusual.length})</span>` : nothing
      }</summary>
      <ul>${unusual.map(
        ({ path, rule, value }) => html`<li class="unusual">Unusual: ${path} ${rule}, got ${value}</li>`,
      )}${sentences.map((sentence) => html`<li>${sentence}</li>`)}</ul>
    </details>`;
  }
}

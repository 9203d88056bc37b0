import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { cautionsFor, GENERAL_CAUTION_COUNT, loudestDbNhl } from '../../core/scenario/cautions.ts';
import type { Bench } from '../model/bench.ts';
import { BenchController } from './benchController.ts';
import { sharedStyles } from './sharedStyles.ts';

/** What somebody who did this to a person would have to mind: one line that opens into all of it. */
@customElement('sweep-cautions')
export class SweepCautions extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      :host { display: block; min-width: 0; }
      summary { cursor: pointer; padding: 0.1rem 0; }
      .loud summary { color: var(--flag); font-weight: 600; }
      ul { margin: 0.2rem 0 0.3rem; padding-left: 1.1rem; max-width: 72ch; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;

  constructor() {
    super();
    new BenchController(this, () => {}, ['settings']);
  }

  override render() {
    const sentences = cautionsFor(this.bench.scenario);
    const loud = sentences.length > GENERAL_CAUTION_COUNT;
    const words = loud
      ? `Mind the ear: ${loudestDbNhl(this.bench.scenario)} dB nHL is loud.`
      : 'No diagnosis; local protocol first.';
    return html`<details class=${loud ? 'loud' : ''}>
      <summary>${words} Cautions (${sentences.length})</summary>
      <ul>${sentences.map((sentence) => html`<li>${sentence}</li>`)}</ul>
    </details>`;
  }
}

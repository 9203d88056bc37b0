import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { preset, presetGroups, presets } from '../../core/scenario/presets.ts';
import type { Bench } from '../model/bench.ts';
import { BenchController } from './benchController.ts';
import { sharedStyles } from './sharedStyles.ts';

/** The patient strip: who lies there, and the seed that makes this patient this one. */
@customElement('sweep-patient')
export class SweepPatient extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      :host { display: flex; flex-wrap: wrap; gap: 0.3rem 0.9rem; align-items: center; min-width: 0; }
      label { display: flex; gap: 0.35rem; align-items: center; min-width: 0; }
      select { min-width: 0; max-width: 13rem; }
      .story { flex: 1 1 20rem; min-width: 0; color: var(--ink-soft); font-size: 0.93rem; }
      input { width: 6rem; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;

  constructor() {
    super();
    new BenchController(this, () => {}, ['settings']);
  }

  override render() {
    const { bench } = this;
    const { id, title, story } = bench.scenario;
    const known = presets.some((entry) => entry.id === id);
    return html`
      <label>Patient
        <select id="patient" ?disabled=${bench.freePaths !== null} @change=${this.choose}>
          ${known ? nothing : html`<option value="" selected>${title}</option>`}
          ${presetGroups.map(
            (group) => html`<optgroup label=${group.title}>
              ${group.presets.map((entry) => html`<option value=${entry.id} ?selected=${entry.id === id}>${entry.title}</option>`)}
            </optgroup>`,
          )}
        </select>
      </label>
      <label title="The same seed gives the same patient and the same noise, bit for bit; another one another patient of the kind">Seed
        <input id="seed" type="text" size="6" maxlength="60" .value=${bench.seed} @change=${this.seed} />
      </label>
      <p class="story">${story || 'A scenario of your own.'}</p>
    `;
  }

  private choose(event: Event): void {
    const { value } = event.target as HTMLSelectElement;
    if (value !== '') this.bench.load(preset(value));
  }

  private seed(event: Event): void {
    const { value } = event.target as HTMLInputElement;
    this.bench.setSeed(value.trim() || '1');
  }
}

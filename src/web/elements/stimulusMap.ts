import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { polarityChoices } from '../../formats/stimulusSelection.ts';
import { countText } from '../model/numberText.ts';
import { type HandMadeKind, handMadeRow, type StimulusRow } from '../model/recordingSetup.ts';
import { sharedStyles } from './sharedStyles.ts';

const handMadeKinds: readonly { kind: HandMadeKind; label: string }[] = [
  { kind: 'rise', label: 'where a channel rises above' },
  { kind: 'fall', label: 'where a channel falls below' },
  { kind: 'every', label: 'on a steady beat' },
];

/** Which events of a recording are stimuli, and of which polarity; where the file says nothing, by hand. */
@customElement('sweep-stimulus-map')
export class SweepStimulusMap extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      td { text-align: left; vertical-align: middle; }
      td label { display: flex; gap: 0.4rem; align-items: baseline; overflow-wrap: anywhere; }
      input[type='checkbox'] { width: 1.05rem; height: 1.05rem; accent-color: var(--ink); flex: none; }
      details { margin-top: 0.3rem; }
      .hand { display: flex; flex-wrap: wrap; gap: 0.35rem 0.5rem; align-items: end; padding: 0.3rem 0; }
      .hand label { display: grid; gap: 0.1rem; font-size: 0.86rem; min-width: 0; }
      .hand input { width: 6.5rem; }
      .hand select { max-width: 100%; min-width: 0; }
    `,
  ];

  @property({ attribute: false }) rows: readonly StimulusRow[] = [];
  /** Labels of the channels that may hold a trigger. */
  @property({ attribute: false }) channels: readonly string[] = [];
  @state() private kind: HandMadeKind = 'rise';
  @state() private problem: string | null = null;

  override render() {
    return html`
      ${
        this.rows.length === 0
          ? html`<p class="soft">The file names no events. Say below where the stimuli are, or implant a response.</p>`
          : html`<table><caption class="unseen">Events that are stimuli</caption>
              <thead><tr><th scope="col">Stimuli</th><th scope="col">Polarity</th></tr></thead>
              <tbody>${this.rows.map((row, k) => this.row(row, k))}</tbody></table>`
      }
      <details ?open=${this.rows.length === 0}>
        <summary>Say by hand where the stimuli are</summary>
        <div class="hand" @keydown=${this.onKey}>
          <label>Stimuli come
            <select id="kind" @change=${this.chooseKind}>${handMadeKinds.map(
              ({ kind, label }) => html`<option value=${kind} ?selected=${kind === this.kind}>${label}</option>`,
            )}</select></label>
          ${
            this.kind === 'every'
              ? html`<label>every, s<input id="first" type="number" step="any" min="0" value="0.1" /></label>
                  <label>from, s<input id="second" type="number" step="any" min="0" value="0" /></label>`
              : html`<label>Channel<select id="trigger">${this.channels.map((label) => html`<option>${label}</option>`)}</select></label>
                  <label>Level, µV<input id="first" type="number" step="any" value="100" /></label>`
          }
          <button type="button" @click=${this.add}>Add stimuli</button>
        </div>
        ${this.problem === null ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}
      </details>
    `;
  }

  private row({ events, polarity, isStimulus, eventCount }: StimulusRow, k: number) {
    return html`<tr>
      <td><label><input type="checkbox" .checked=${isStimulus}
        @change=${(event: Event) => this.change(k, { isStimulus: (event.target as HTMLInputElement).checked })} />
        <span>${events}${eventCount === null ? '' : html` <span class="soft">(${countText(eventCount)})</span>`}</span></label></td>
      <td><select aria-label=${`Polarity of ${events}`} ?disabled=${!isStimulus}
        @change=${(event: Event) => this.choosePolarity(k, (event.target as HTMLSelectElement).value)}>
        ${polarityChoices.map((choice) => html`<option ?selected=${choice === polarity}>${choice}</option>`)}</select></td>
    </tr>`;
  }

  private chooseKind(event: Event): void {
    const { value } = event.target as HTMLSelectElement;
    this.kind = handMadeKinds.find(({ kind }) => kind === value)?.kind ?? 'rise';
  }

  private choosePolarity(k: number, value: string): void {
    const polarity = polarityChoices.find((choice) => choice === value);
    if (polarity) this.change(k, { polarity });
  }

  /** Enter in a field adds the stimuli; it must not send the form around. */
  private onKey(event: KeyboardEvent): void {
    if (event.key !== 'Enter' || !(event.target instanceof HTMLInputElement)) return;
    event.preventDefault();
    this.add();
  }

  private add(): void {
    const number = (id: string) => this.renderRoot.querySelector<HTMLInputElement>(`#${id}`)?.valueAsNumber ?? NaN;
    const first = number('first');
    const second = this.kind === 'every' ? number('second') : 0;
    const channel = this.renderRoot.querySelector<HTMLSelectElement>('#trigger')?.value ?? '';
    if (!(Number.isFinite(first) && Number.isFinite(second) && (this.kind !== 'every' || first > 0))) {
      this.problem =
        this.kind === 'every' ? 'The beat needs a step above 0 s and a first time.' : 'The level must be a number.';
      return;
    }
    this.problem = null;
    this.tell([...this.rows, handMadeRow(this.kind, channel, first, second)]);
  }

  private change(k: number, part: Partial<StimulusRow>): void {
    this.tell(this.rows.map((row, at) => (at === k ? { ...row, ...part } : row)));
  }

  private tell(rows: readonly StimulusRow[]): void {
    this.dispatchEvent(new CustomEvent('stimuli-set', { detail: { rows } }));
  }
}

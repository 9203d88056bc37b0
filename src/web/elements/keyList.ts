import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { sharedStyles } from './sharedStyles.ts';

const keys = [
  ['Space', 'run or pause'],
  ['R', 'restart the same patient'],
  ['N', 'offer one sweep'],
  ['← →', 'look at the sweep before or after'],
  ['Home, End', 'first sweep, follow the newest'],
  ['T', 'seal or unseal the truth'],
  ['/', 'the two split buffers over every average, or not'],
  [
    'On the desk',
    '← → move the cursor by a sample, with Shift by ten; ↑ ↓ choose the mark, Enter puts it, Delete takes it away',
  ],
  ['1 to 9', 'the views of the rail, from the top'],
  ['.', 'open or close Hands on; while it is open, each of its buttons has the letter on it'],
  ['?', 'this list'],
] as const;

const signs = [
  [
    'Belt',
    'under each raw sweep a row per lane: full = taken, thin = marked down or waiting, open = rejected, hatched = flagged over-range',
  ],
  ['Event', 'a wedge and a dotted line where something was done to patient, rig or room'],
  [
    'Average',
    'the band is ± the lane\u2019s own noise claim, the shaded stretch is where noise is measured, dashes are the truth',
  ],
  [
    'Ribbon',
    'a column per sweep or per pixel: dark to the smallest weight in it, pale to the largest, stippled where marked down; along the foot what was left out',
  ],
  [
    'Race',
    'thick = true noise, thin = own claim; a flag where a lane comes to stay under the target; hollow = its gain is outside 0.95 to 1.05, so its low noise does not count',
  ],
] as const;

/** The list of keys and signs, and the switch that turns single keys off for those whom they get in the way. */
@customElement('sweep-key-list')
export class SweepKeyList extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      dialog { background: var(--card); color: var(--ink); border: 1px solid var(--ink-faint); border-radius: 4px; padding: 1rem 1.3rem; max-width: 34rem; }
      dialog::backdrop { background: rgb(0 0 0 / 40%); }
      dl { display: grid; grid-template-columns: auto 1fr; gap: 0.3rem 1rem; margin: 0.7rem 0; }
      dt { font-weight: 600; } dd { margin: 0; }
      label { display: flex; gap: 0.5rem; align-items: center; margin-bottom: 0.8rem; }
    `,
  ];

  /** Whether the keys work. */
  @property({ type: Boolean }) active = true;

  show(): void {
    this.renderRoot.querySelector('dialog')?.showModal();
  }

  override render() {
    return html`<dialog aria-labelledby="title">
      <h2 id="title">Keys</h2>
      <dl>${keys.map(([key, meaning]) => html`<dt>${key}</dt><dd>${meaning}</dd>`)}</dl>
      <h2>Signs</h2>
      <dl>${signs.map(([name, meaning]) => html`<dt>${name}</dt><dd>${meaning}</dd>`)}</dl>
      <label><input type="checkbox" .checked=${this.active} @change=${this.toggle} /> single keys work outside of fields</label>
      <form method="dialog"><button class="primary">Close</button></form>
    </dialog>`;
  }

  private toggle(event: Event): void {
    this.active = (event.target as HTMLInputElement).checked;
  }
}

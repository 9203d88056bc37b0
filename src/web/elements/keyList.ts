import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { sharedStyles } from './sharedStyles.ts';

/** The screen in reading order, for somebody who sees it for the first time. */
const tour = [
  ['Sweep belt', 'every stimulus brings one sweep: a response far too small to see, in noise'],
  ['Lanes', 'up to six strategies average the same sweeps, each weighting them in its own way'],
  ['Race', 'how much noise is left in each average as time goes by; who is first under the target, and honestly'],
  ['Truth', 'here the response is known: the dashed curve. Seal it to work as with a real patient, read, then unseal'],
  ['Why this weight', 'what each strategy did with one sweep, in its own words'],
  ['Hands on', 'ask the patient to clench, loosen an electrode: what the strategies make of it shows at once'],
  [
    'The rail',
    'read waves, compare with one thing changed, run several levels, see what the error is made of, and more',
  ],
] as const;

const keys = [
  ['Space', 'run or pause'],
  ['R', 'restart the same patient'],
  ['N', 'offer one sweep'],
  ['← →', 'look at the sweep before or after, with Shift by ten'],
  ['Home, End', 'first sweep, follow the newest'],
  ['T', 'seal or unseal the truth'],
  ['/', 'the two split buffers over every average, or not'],
  [
    'On the leads',
    'Tab to an electrode, the box, the first stage or the loop; arrows move it, Delete takes an electrode off or puts it back',
  ],
  ['1 to 9', 'the views of the rail, from the top'],
  ['.', 'open or close Hands on; while it is open, each of its buttons has the letter on it'],
  [
    'Cursor on Read',
    '← → by a sample, with Shift by ten; Page Up and Down by 1 ms; Home, End; ↑ ↓ choose the mark, Enter puts it, Delete takes it away, A holds a second cursor to measure from',
  ],
  [
    'Head on Leads',
    'Tab goes from part to part; ← → another place, ↑ ↓ the contact, Delete takes an electrode off, Enter chooses it; arrows on box, first stage and loop',
  ],
  ['Tabs of the panel', '← →'],
  ['Esc', 'closes a dialog'],
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

/** What is on the screen, the keys and the signs, and the switch that turns single keys off for those whom they get in the way. */
@customElement('sweep-key-list')
export class SweepKeyList extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      dialog { background: var(--card); color: var(--ink); border: 1px solid var(--ink-faint); border-radius: 4px; padding: 0 1.3rem 1rem; width: min(40rem, calc(100vw - 1.6rem)); }
      .top { display: flex; justify-content: space-between; align-items: center; position: sticky; top: 0; background: var(--card); padding: 0.8rem 0 0.4rem; }
      dialog::backdrop { background: rgb(0 0 0 / 40%); }
      dl { display: grid; grid-template-columns: 8rem 1fr; gap: 0.3rem 1rem; margin: 0.5rem 0 0.9rem; }
      @media (max-width: 30rem) { dl { grid-template-columns: 1fr; gap: 0; } dd { margin-bottom: 0.4rem; } }
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
      <div class="top"><h2 id="title">What is on the screen</h2><form method="dialog"><button class="primary">Close</button></form></div>
      <dl>${tour.map(([name, meaning]) => html`<dt>${name}</dt><dd>${meaning}</dd>`)}</dl>
      <h2>Keys</h2>
      <dl>${keys.map(([key, meaning]) => html`<dt>${key}</dt><dd>${meaning}</dd>`)}</dl>
      <h2>Signs</h2>
      <dl>${signs.map(([name, meaning]) => html`<dt>${name}</dt><dd>${meaning}</dd>`)}</dl>
      <label><input type="checkbox" .checked=${this.active} @change=${this.toggle} /> single keys work outside of fields</label>
    </dialog>`;
  }

  private toggle(event: Event): void {
    this.active = (event.target as HTMLInputElement).checked;
  }
}

import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Bench } from '../model/bench.ts';
import { type Duel, disagreements, duelOf, duelTables } from '../model/duel.ts';
import { laneLetters, reasonSentence, sweepSentence } from '../model/narration.ts';
import { countText, decimalText, secondsText, tickText, voltageText } from '../model/numberText.ts';
import type { TableHost } from '../model/viewTables.ts';
import { drawDuel, drawWeights, duelPanels, weightAxes, weightPlace } from '../stage/duelPicture.ts';
import './dataTables.ts';
import { tablesOn } from '../model/pictureTables.ts';
import { BenchController } from './benchController.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { panelLabels } from './panelLabels.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';

/** Two lanes head to head on the same sweeps: what they differ by, and the sweeps on which they disagree. */
@customElement('sweep-duel')
export class SweepDuel extends LitElement implements TableHost {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    css`
      .head, .row { display: flex; flex-wrap: wrap; gap: 0.35rem 0.8rem; align-items: center; }
      .row label { display: flex; gap: 0.35rem; align-items: center; font-size: 0.92rem; }
      .body { display: grid; gap: 0.6rem 1.2rem; grid-template-columns: minmax(0, 1fr); margin-top: 0.4rem; }
      .both { height: max(15rem, calc(100vh - 34rem - var(--strip, 0rem))); }
      .weights { height: 15rem; }
      .weights canvas { cursor: pointer; }
      p { margin: 0.25rem 0; font-size: 0.92rem; max-width: 72ch; }
      ol { list-style: none; margin: 0.3rem 0 0; padding: 0; display: flex; flex-wrap: wrap; gap: 0.25rem; }
      ol button { padding: 0 0.45rem; min-height: 1.6rem; font-size: 0.86rem; border-radius: 1rem; font-variant-numeric: tabular-nums; }
      .poured { list-style: none; margin: 0.3rem 0; padding: 0; font-size: 0.9rem; }
      .poured li { display: grid; grid-template-columns: 3.6rem 3.4rem minmax(0, 1fr); gap: 0.3rem; border-top: 1px solid var(--rule); padding: 0.15rem 0; }
      @media (min-width: 60rem) { .body { grid-template-columns: minmax(0, 1.15fr) minmax(0, 1fr); } }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private first = 0;
  @state() private second = -1;
  private readonly both = new PictureController(
    this,
    (ink, w, h, palette) => {
      const duel = this.duel();
      if (duel) drawDuel(this.bench, duel, ink, w, h, palette);
    },
    '.both canvas',
  );
  private readonly weights = new PictureController(
    this,
    (ink, w, h, palette) => {
      const duel = this.duel();
      if (duel) drawWeights(this.bench, duel, ink, w, h, palette);
    },
    '.weights canvas',
  );

  constructor() {
    super();
    new BenchController(this, () => {
      this.both.invalidate();
      this.weights.invalidate();
    });
  }

  override render() {
    const { bench } = this;
    const duel = this.duel();
    return html`
      <section aria-label="Duel">
        <div class="head"><h2>Head to head</h2><span class="soft">two lanes, the same sweeps, the same moment</span></div>
        <div class="row">
          ${this.choice('first', 'First', duel?.lanes[0] ?? 0)}
          ${this.choice('second', 'against', duel?.lanes[1] ?? 0)}
        </div>
        ${duel ? html`${this.report(duel)}<sweep-data-tables .tables=${() => tablesOn(bench, this.tables())}></sweep-data-tables>` : html`<p>A duel takes two lanes: add one in the settings.</p>`}
        ${bench.record.offeredCount === 0 ? html`<p class="soft">No sweep yet: let the run begin.</p>` : nothing}
      </section>`;
  }

  tables() {
    const duel = this.duel();
    return duel ? duelTables(duel) : [];
  }

  private report(duel: Duel) {
    const { bench } = this;
    const apart = disagreements(bench.record, duel);
    return html`<p role="status">${this.verdict(duel)}</p>
      <div class="body">
        <div>
          <div class="picture both" data-tables="duel-difference" role="img" aria-label=${this.differenceSentence(duel)}><canvas></canvas>${this.panelTexts(duel)}</div>
          ${this.table(duel)}
        </div>
        <div>
          <h3>Weight in one against weight in the other</h3>
          <div class="picture weights" data-tables="duel-weights" role="img" aria-label=${this.weightSentence(duel)} @click=${this.pick}><canvas></canvas>${this.weightTexts(duel)}</div>
          ${
            apart.length === 0
              ? html`<p class="soft">They took every sweep alike so far.</p>`
              : html`<p>They disagree most on these sweeps; choose one, here or in the picture, to see it on the belt, and what each did with it:</p>
                <ol>${apart.map(
                  ({ index, weights: [a, b] }) =>
                    html`<li><button aria-pressed=${bench.selectedSweep === index} @click=${() => bench.selectSweep(index)}><span class="unseen">Sweep </span>${countText(index + 1)} · ×${decimalText(a, 2)} : ×${decimalText(b, 2)}</button></li>`,
                )}</ol>`
          }
          <p class="soft number">${sweepSentence(bench)}</p>
          <ul class="poured">${duel.lanes.map((lane) => {
            const share = bench.shownSweep < 0 ? NaN : bench.record.normalisedWeight(lane, bench.shownSweep);
            return html`<li>${laneBadge(lane)}<span class="number">${Number.isFinite(share) ? `×${decimalText(share, 2)}` : '–'}</span><span>${reasonSentence(bench, lane)}</span></li>`;
          })}</ul>
        </div>
      </div>`;
  }

  private choice(side: 'first' | 'second', label: string, chosen: number) {
    return html`<label>${label} <select id=${side} @change=${(event: Event) => this.choose(side, Number((event.target as HTMLSelectElement).value))}>
      ${this.bench.record.lanes.map(({ name }, lane) => html`<option value=${lane} ?selected=${lane === chosen}>${laneLetters[lane]} · ${name}</option>`)}</select></label>`;
  }

  private choose(side: 'first' | 'second', lane: number): void {
    this[side] = lane;
    this.both.invalidate();
    this.weights.invalidate();
  }

  /** The two chosen lanes; the first against the last until something is chosen. Null with fewer than two. */
  private duel(): Duel | null {
    const { record } = this.bench;
    const last = record.lanes.length - 1;
    if (last < 1) return null;
    const first = Math.min(this.first, last);
    const second = this.second < 0 || this.second > last ? last : this.second;
    return duelOf(record, first, second === first ? (first + 1) % (last + 1) : second);
  }

  /** Noise as it may be told: true where the truth is open, claimed where it is sealed. */
  private noiseOf(lane: number): number {
    const { record, truthSealed } = this.bench;
    const { residualNoiseUv, ownNoiseUv } = record.lanes[lane].reading;
    return truthSealed ? ownNoiseUv : residualNoiseUv;
  }

  private verdict({ lanes: [first, second], differenceRmsUv, noiseUv, beyondShare }: Duel): string {
    const [a, b] = [this.noiseOf(first), this.noiseOf(second)];
    if (!(a > 0 && b > 0)) return 'Nothing to compare yet.';
    const [ahead, factor] = a <= b ? [first, b / a] : [second, a / b];
    const word = this.bench.truthSealed ? 'claims' : 'has';
    const lead =
      factor < 1.02
        ? 'Neck and neck.'
        : `${laneLetters[ahead]} ${word} ${decimalText(factor, 2)} times less noise than ${laneLetters[ahead === first ? second : first]}.`;
    const apart = Number.isFinite(noiseUv)
      ? ` They differ by ${voltageText(differenceRmsUv)} rms; their own split buffers explain about ${voltageText(noiseUv)}: ${decimalText(100 * beyondShare, 0)} % of the window lies beyond twice that; of chance alone about 5 %, but neighbouring instants go together, so single runs scatter widely.`
      : '';
    return `${lead}${apart}`;
  }

  private table({ lanes }: Duel) {
    const { record, truthSealed, scenario } = this.bench;
    const { targetNv } = scenario.session;
    const by = truthSealed ? 'ownNoiseUv' : 'residualNoiseUv';
    const arrival = (lane: number) => {
      const s = record.arrivalS(lane, by);
      return s === null ? 'not yet' : secondsText(s);
    };
    const rows: (readonly [string, (lane: number) => string])[] = [
      ['own claim', (lane) => voltageText(record.lanes[lane].reading.ownNoiseUv)],
      ...(truthSealed
        ? []
        : ([
            ['true noise', (lane: number) => voltageText(record.lanes[lane].reading.residualNoiseUv)],
            ['gain', (lane: number) => decimalText(record.lanes[lane].reading.amplitudeGain, 2)],
          ] as const)),
      [`to ${tickText(targetNv)} nV${truthSealed ? ', by its claim' : ''}`, arrival],
      ['sweeps that count', (lane) => countText(record.lanes[lane].reading.effectiveCount)],
    ];
    return html`<div class="scroll" tabindex="0" role="group" aria-label="Figures of the two lanes"><table>
      <caption class="unseen">The two lanes side by side</caption>
      <thead><tr><th scope="col"><span class="unseen">Figure</span></th>${lanes.map((lane) => html`<th scope="col">${laneLetters[lane]} · ${record.lanes[lane].name}</th>`)}</tr></thead>
      <tbody>${rows.map(([name, told]) => html`<tr><th scope="row">${name}</th>${lanes.map((lane) => html`<td>${told(lane)}</td>`)}</tr>`)}</tbody></table></div>`;
  }

  private differenceSentence({ lanes: [first, second], differenceRmsUv, noiseUv }: Duel): string {
    return `Averages of ${laneLetters[first]} and ${laneLetters[second]} on common axes: below, their difference, ${voltageText(differenceRmsUv)} rms, in a band of twice its noise, ${voltageText(2 * noiseUv)}.`;
  }

  private weightSentence({ lanes: [first, second] }: Duel): string {
    return `Weights of every sweep: lane ${laneLetters[first]} across, lane ${laneLetters[second]} up, over the mean weight; on the dotted line both agree. The sweeps off it are listed below.`;
  }

  private panelTexts(duel: Duel) {
    const { width, height } = this.both;
    if (width === 0) return null;
    const { both, gap, magnified } = duelPanels(this.bench, duel, width, height);
    const [first, second] = duel.lanes.map((lane) => laneLetters[lane]);
    return html`<svg aria-hidden="true">${panelLabels(both, false)}${panelLabels(gap, true)}
      ${svg`<text x=${width - 8} y=${both.voltageUv(both.voltageUv.to) + 10} text-anchor="end">${first} and ${second}</text>
        <text x=${width - 8} y=${gap.voltageUv(gap.voltageUv.to) + 10} text-anchor="end">${second} − ${first}, band ±2 of its noise${magnified > 1 ? `, scale ×${tickText(Number(magnified.toPrecision(2)))}` : ''}</text>`}</svg>`;
  }

  private weightTexts(duel: Duel) {
    const { width, height } = this.weights;
    if (width === 0) return null;
    const { x, y } = weightAxes(this.bench, duel, width, height);
    const ticks = [0, 0.25, 1, 2, 4, 9, 25, 100].filter((weight) => Math.sqrt(weight) <= x.to);
    const [first, second] = duel.lanes.map((lane) => laneLetters[lane]);
    return html`<svg aria-hidden="true">
      ${ticks.map(
        (
          weight,
        ) => svg`<text x=${x(Math.sqrt(weight))} y=${height - 16} text-anchor="middle">×${tickText(weight)}</text>
        <text x=${x(0) - 4} y=${y(Math.sqrt(weight)) + 3.5} text-anchor="end">×${tickText(weight)}</text>`,
      )}
      <text x=${width - 10} y=${height - 3} text-anchor="end">weight in ${first}; up: weight in ${second}</text></svg>`;
  }

  /** Looks at the sweep whose dot is nearest. */
  private pick(event: MouseEvent): void {
    const duel = this.duel();
    if (!duel) return;
    const { bench } = this;
    const axes = weightAxes(bench, duel, this.weights.width, this.weights.height);
    let [nearest, nearestPx] = [-1, 24];
    for (let k = 0; k < bench.record.offeredCount; k++) {
      const at = weightPlace(bench, duel, axes, k);
      const away = at ? Math.hypot(at.x - event.offsetX, at.y - event.offsetY) : Infinity;
      if (away < nearestPx) [nearest, nearestPx] = [k, away];
    }
    if (nearest >= 0) bench.selectSweep(nearest);
  }
}

import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { averagingStrategy } from '../../core/averaging/index.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import type { Bench } from '../model/bench.ts';
import { counterfactuals, type PairedLane, pairedLanes, scenarioChanges } from '../model/comparison.ts';
import { laneLetters } from '../model/narration.ts';
import { decimalText, secondsText, tickText, voltageText } from '../model/numberText.ts';
import { comparisonTables, type TableHost } from '../model/viewTables.ts';
import { type ComparedPair, comparePanels, drawComparison } from '../stage/comparePicture.ts';
import type { TaskRun } from '../worker/tasks.ts';
import './dataTables.ts';
import { tablesOn } from '../model/pictureTables.ts';
import { BenchController } from './benchController.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { panelLabels } from './panelLabels.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';
import { TaskController } from './taskController.ts';

/** The same patient twice: a kept run against the bench as it is now, or the bench against what might have been. */
@customElement('sweep-compare')
export class SweepCompare extends LitElement implements TableHost {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    css`
      .head { display: flex; flex-wrap: wrap; gap: 0.3rem 0.7rem; align-items: baseline; }
      .chips { display: flex; flex-wrap: wrap; gap: 0.3rem; margin: 0.3rem 0; }
      .chips button { padding: 0.05rem 0.55rem; min-height: 1.7rem; border-radius: 1rem; font-size: 0.9rem; }
      .row { display: flex; flex-wrap: wrap; gap: 0.35rem 0.7rem; align-items: center; margin: 0.4rem 0; }
      .body { display: grid; gap: 0.6rem 1.2rem; grid-template-columns: minmax(0, 1fr); }
      .picture { height: 21rem; }
      .picture .name { font-weight: 600; fill: var(--ink); }
      ul { margin: 0.2rem 0; padding-left: 1.1rem; font-size: 0.92rem; }
      tr[aria-selected='true'] th { text-decoration: underline; text-underline-offset: 3px; }
      th button { border: none; background: none; padding: 0; min-height: 0; display: inline-flex; }
      .better { color: var(--target); font-weight: 600; }
      p { margin: 0.2rem 0; max-width: 72ch; }
      @media (min-width: 60rem) { .body { grid-template-columns: minmax(0, 1.15fr) minmax(0, 1fr); } }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private otherwise: readonly string[] = [];
  @state() private lane = -1;
  /** What the shown runs were made from. */
  private shown: { before: TaskRun; after: TaskRun } | null = null;
  private readonly beforeRun = new TaskController(this, 'full-run', () => this.picture.invalidate());
  private readonly afterRun = new TaskController(this, 'full-run', () => this.picture.invalidate());
  private readonly picture = new PictureController(this, (ink, w, h, palette) => {
    const pair = this.pair();
    if (pair) drawComparison(pair, ink, w, h, palette);
  });

  constructor() {
    super();
    new BenchController(this, () => this.picture.invalidate(), ['settings', 'view']);
  }

  override render() {
    const { bench } = this;
    const { kept } = bench;
    const pair = this.pair();
    const orders = this.orders();
    const stale = this.shown !== null && (orders === null || JSON.stringify(orders) !== JSON.stringify(this.shown));
    return html`
      <section aria-label="Compare">
        <div class="head"><h2>The same patient, once more</h2>
          <span class="soft">one thing changed; every draw of chance is the same</span></div>
        <div class="row">
          <button id="keep" @click=${() => bench.keep()}>Keep this run as “before”</button>
          ${kept ? html`<button @click=${() => bench.keep(null)}>Forget it</button>` : nothing}
          <span class="soft">${kept ? `Kept: ${kept.scenario.title}, seed ${kept.seed}. It stays as a pale line in the lanes and the race.` : 'Then change one thing, anywhere; or ask what if, below.'}</span>
        </div>
        ${kept ? nothing : this.whatIf()}
        ${this.changeList(orders)}
        <div class="row">
          <button class="primary" id="compare" ?disabled=${orders === null} @click=${this.run}>Run both to the end</button>
          ${this.beforeRun.progress('Before')} ${this.afterRun.progress('After')}
          ${stale && pair ? html`<span class="soft">Settings have changed since: run again.</span>` : nothing}
        </div>
        ${pair ? html`${this.report(pair)}<sweep-data-tables .tables=${() => tablesOn(bench, this.tables())}></sweep-data-tables>` : nothing}
      </section>
    `;
  }

  tables() {
    const pair = this.pair();
    return pair ? comparisonTables(pair.before, pair.after, pair.scenario, pair.showTruth) : [];
  }

  private whatIf() {
    if (this.bench.truthSealed) {
      return html`<p class="soft">What if there had been no muscle, no hum? That waits until the truth is unsealed.</p>`;
    }
    const list = counterfactuals(this.bench.scenario, this.bench.seed);
    return html`<div class="chips" role="group" aria-label="What if">
      ${list.map(({ id, label }) => {
        const on = this.otherwise.includes(id);
        return html`<button aria-pressed=${on} @click=${() => this.toggle(id)}>${label}</button>`;
      })}
    </div>`;
  }

  private changeList(orders: { before: TaskRun; after: TaskRun } | null) {
    if (!orders) return html`<p class="soft">Nothing differs yet.</p>`;
    const changes = this.bench.kept
      ? scenarioChanges(orders.before.scenario, orders.after.scenario)
      : this.chosenLabels();
    if (JSON.stringify(orders.before.lanes) !== JSON.stringify(orders.after.lanes)) changes.push('other lanes');
    if (orders.before.seed !== orders.after.seed)
      changes.push(`another patient: seed ${orders.before.seed} → ${orders.after.seed}`);
    const [only] = changes;
    return changes.length === 1
      ? html`<p>One thing is different: <strong>${only}</strong>.</p>`
      : html`<p>${changes.length} things are different: whatever comes out cannot be put down to one of them.</p>
          <ul>${changes.map((change) => html`<li>${change}</li>`)}</ul>`;
  }

  private chosenLabels(): string[] {
    const { scenario, seed } = this.bench;
    return counterfactuals(scenario, seed)
      .filter(({ id }) => this.otherwise.includes(id))
      .map(({ label }) => label);
  }

  private report(pair: ComparedPair) {
    const { before, after, scenario, showTruth } = pair;
    const rows = pairedLanes(before, after, scenario);
    return html`<div class="body">
      <div>
        <div class="picture" data-tables="before-after" role="img" aria-label=${this.sentence(pair)}><canvas></canvas>${this.labels(pair)}</div>
      </div>
      <div class="scroll" tabindex="0" role="group" aria-label="Before and after, all lanes"><table>
        <caption class="unseen">Every lane before and after, at the end of the session</caption>
        <thead><tr><th scope="col">Lane</th><th scope="col">${showTruth ? 'true noise' : 'own claim'}</th>
          ${showTruth ? html`<th scope="col">to target</th><th scope="col">gain</th>` : nothing}<th scope="col">differs by</th></tr></thead>
        <tbody>${rows.map((row, lane) => this.tableRow(row, lane, pair))}</tbody>
      </table>
      <p class="soft">Dashed: before. Solid: after. Below: after − before. Choose a lane to see it.</p></div>
    </div>`;
  }

  private tableRow({ strategy, before, after, differenceRmsUv }: PairedLane, lane: number, pair: ComparedPair) {
    const arrow = (from: string, to: string, better: boolean) =>
      html`${from} → <span class=${better ? 'better' : ''}>${to}</span>`;
    const seconds = (s: number | null) => (s === null ? 'never' : secondsText(s));
    const noise: keyof typeof before = pair.showTruth ? 'noiseUv' : 'claimUv';
    return html`<tr aria-selected=${lane === pair.lane}>
      <th scope="row"><button @click=${() => this.choose(lane)} aria-label=${`Show lane ${laneLetters[lane]}, ${averagingStrategy(strategy).label}`}>${laneBadge(lane)}</button></th>
      <td>${arrow(voltageText(before[noise]), voltageText(after[noise]), after[noise] < before[noise])}</td>
      ${
        pair.showTruth
          ? html`<td>${arrow(seconds(before.arrivalS), seconds(after.arrivalS), (after.arrivalS ?? Infinity) < (before.arrivalS ?? Infinity))}</td>
              <td>${decimalText(before.gain, 2)} → ${decimalText(after.gain, 2)}</td>`
          : nothing
      }
      <td>${voltageText(differenceRmsUv)}</td></tr>`;
  }

  private labels(pair: ComparedPair) {
    const { width, height } = this.picture;
    if (width === 0) return null;
    const { runs, gap, magnified } = comparePanels(pair, width, height);
    return html`<svg aria-hidden="true">${panelLabels(runs, false)}${panelLabels(gap, true)}
      ${svg`<text class="name" x=${width - 8} y=${runs.voltageUv(runs.voltageUv.to) + 10} text-anchor="end">before and after</text>
        <text class="name" x=${width - 8} y=${gap.voltageUv(gap.voltageUv.to) + 10} text-anchor="end">after − before${magnified > 1 ? `, scale ×${tickText(Number(magnified.toPrecision(2)))}` : ''}</text>`}</svg>`;
  }

  private sentence({ lane, paired, showTruth }: ComparedPair): string {
    const noise = showTruth
      ? ` Residual noise ${voltageText(paired.before.noiseUv)} before, ${voltageText(paired.after.noiseUv)} after.`
      : '';
    return `Lane ${laneLetters[lane]}, ${averagingStrategy(paired.strategy).label}: average before and after, and their difference, ${voltageText(paired.differenceRmsUv)} rms.${noise}`;
  }

  private toggle(id: string): void {
    this.otherwise = this.otherwise.includes(id)
      ? this.otherwise.filter((other) => other !== id)
      : [...this.otherwise, id];
  }

  private choose(lane: number): void {
    this.lane = lane;
    this.picture.invalidate();
  }

  /** What is to be run: the kept run and the bench, or the bench and what might have been; null if nothing differs. */
  private orders(): { before: TaskRun; after: TaskRun } | null {
    const { bench } = this;
    const now: TaskRun = { scenario: bench.scenario, seed: bench.seed, lanes: bench.laneSettings };
    if (bench.kept) {
      const { scenario, seed, lanes } = bench.kept;
      const before = { scenario, seed, lanes };
      return JSON.stringify(before) === JSON.stringify(now) ? null : { before, after: now };
    }
    if (bench.truthSealed) return null; // the list of noises alone would give the trouble away
    let scenario: Scenario = bench.scenario;
    for (const { id, apply } of counterfactuals(bench.scenario, bench.seed)) {
      if (this.otherwise.includes(id)) scenario = apply(scenario);
    }
    return scenario === bench.scenario ? null : { before: now, after: { ...now, scenario } };
  }

  private run(): void {
    const orders = this.orders();
    if (!orders) return;
    this.shown = orders;
    this.lane = -1;
    void this.beforeRun.start(orders.before);
    void this.afterRun.start(orders.after);
  }

  /** The two runs with the lane to show: the chosen one, or the one that differs most. */
  private pair(): ComparedPair | null {
    const [before, after] = [this.beforeRun.result, this.afterRun.result];
    if (!before || !after || !this.shown) return null;
    const { scenario } = this.shown.after;
    const rows = pairedLanes(before, after, scenario);
    if (rows.length === 0) return null;
    const most = rows.reduce((best, row, k) => (row.differenceRmsUv > rows[best].differenceRmsUv ? k : best), 0);
    const lane = this.lane >= 0 && this.lane < rows.length ? this.lane : most;
    return {
      scenario,
      before,
      after,
      lane,
      paired: rows[lane],
      showTruth: !this.bench.truthSealed,
      showSplit: this.bench.splitShown,
    };
  }
}

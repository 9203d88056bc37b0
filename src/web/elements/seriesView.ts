import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Verdict } from '../../core/quality/visualRule.ts';
import { usualWaveV } from '../../core/reading/patternClass.ts';
import type { Bench } from '../model/bench.ts';
import { laneLetters } from '../model/narration.ts';
import { countText, decimalText, secondsText, tickText, voltageText } from '../model/numberText.ts';
import { publishedLatencies, publishedWords } from '../model/publishedLatency.ts';
import {
  fitOf,
  type SeriesRun,
  scenarioAtLevel,
  seriesRun,
  seriesSeed,
  thresholdOf,
  waveLatencies,
} from '../model/series.ts';
import { seriesTables, type TableHost } from '../model/viewTables.ts';
import { linearTicks } from '../stage/scale.ts';
import { drawLatencies, drawStack, hasUsualBand, latencyAxes, stacked, stackPanels } from '../stage/seriesPicture.ts';
import './dataTables.ts';
import { tablesOn } from '../model/pictureTables.ts';
import { BenchController } from './benchController.ts';
import { honestStyles, honestText } from './honestText.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';
import { TaskController } from './taskController.ts';

const verdictWords: Record<Verdict, string> = { present: 'present', absent: 'absent', 'cannot-tell': 'cannot tell' };
const STEP_DOWN = [85, 75, 65, 55, 45, 35] as const;

/** Sessions at several levels: the stack, wave V against level, and the log of a threshold search. */
@customElement('sweep-series')
export class SweepSeries extends LitElement implements TableHost {
  static override styles = [
    sharedStyles,
    honestStyles,
    css`
      .head, .row { display: flex; flex-wrap: wrap; gap: 0.35rem 0.7rem; align-items: center; }
      .row { margin: 0.4rem 0; }
      .row label { display: flex; gap: 0.35rem; align-items: center; font-size: 0.92rem; }
      .row input { width: 5rem; }
      .body { display: grid; gap: 0.6rem 1.2rem; grid-template-columns: minmax(0, 1fr); }
      .stack { height: max(16rem, calc(100vh - 27rem - var(--strip, 0rem))); }
      .latency { height: 13rem; }
      .picture .level { font-weight: 600; fill: var(--ink); font-size: 12px; }
      .picture .rule { stroke: var(--rule); }
      .picture .published { fill: var(--truth); }
      td select { min-height: 1.6rem; padding: 0 0.2rem; }
      p { margin: 0.25rem 0; font-size: 0.92rem; max-width: 72ch; }
      @media (min-width: 60rem) { .body { grid-template-columns: minmax(0, 1.1fr) minmax(0, 1fr); } }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private levelDb = 65;
  @state() private problem: string | null = null;
  private queue: number[] = [];
  private runningAt: { levelDb: number; seed: string } | null = null;
  private readonly session = new TaskController(this, 'full-run', () => this.finish());
  private readonly stack = new PictureController(
    this,
    (ink, w, h, palette) => drawStack(this.bench, ink, w, h, palette),
    '.stack canvas',
  );
  private readonly latency = new PictureController(
    this,
    (ink, w, h, palette) => drawLatencies(this.bench, ink, w, h, palette),
    '.latency canvas',
  );

  constructor() {
    super();
    new BenchController(this, () => {
      this.stack.invalidate();
      this.latency.invalidate();
    }, ['settings', 'view']);
  }

  override render() {
    const { bench } = this;
    const runs = stacked(bench.series);
    const running = this.session.state.kind === 'running';
    const spentS = runs.reduce((sum, { seconds }) => sum + seconds, 0);
    return html`
      <section aria-label="Series">
        <div class="head"><h2>Series over level</h2>
          <span class="soft">the same ear, a new recording each time</span></div>
        <div class="row">
          <label>Averaged by <select id="lane" ?disabled=${running} @change=${(event: Event) => bench.desk.choose({ lane: Number((event.target as HTMLSelectElement).value) })}>
            ${bench.record.lanes.map(({ name }, lane) => html`<option value=${lane} ?selected=${lane === this.lane}>${laneLetters[lane]} · ${name}</option>`)}</select></label>
          <label>Level <input id="level" type="number" min="-10" max="110" step="5" .value=${String(this.levelDb)} @change=${this.setLevel} /> dB nHL</label>
          <button class="primary" ?disabled=${running} @click=${() => this.start([this.levelDb])}>Run this level</button>
          <button ?disabled=${running} @click=${() => this.start([...STEP_DOWN])}>85 to 35 in tens</button>
          ${this.session.progress('Running a level')}
          ${runs.length > 0 ? html`<button ?disabled=${running} @click=${() => bench.setSeries([])}>Clear</button>` : nothing}
          ${this.problem === null ? nothing : html`<span class="problem" role="alert">${this.problem}</span>`}
        </div>
        ${
          runs.length === 0
            ? html`<p>No level has been run. Bracket: begin where an answer is sure, go down in big steps, come back in small ones.
                Say of each trace what you see before the 3:1 rule does.</p>`
            : html`<div class="body">
                <div class="picture stack" data-tables="levels" role="img" aria-label=${this.stackSentence(runs)}><canvas></canvas>${this.stackLabels(runs)}</div>
                <div>
                  ${this.log(runs)}
                  <p class="number">${this.thresholdSentence()} ${secondsText(spentS)} of patience spent.</p>
                  <div class="picture latency" data-tables="level-log" role="img" aria-label=${`${this.latencySentence()} ${this.normsSentence()}`}><canvas></canvas>${this.latencyLabels()}</div>
                  <p class="soft">${this.latencySentence()} ${this.normsSentence()}</p>
                </div></div>
              <sweep-data-tables .tables=${() => tablesOn(bench, this.tables())}></sweep-data-tables>`
        }
      </section>
    `;
  }

  tables() {
    return seriesTables();
  }

  private get lane(): number {
    return Math.min(this.bench.desk.lane, this.bench.record.lanes.length - 1);
  }

  private log(runs: readonly SeriesRun[]) {
    return html`<div class="scroll" tabindex="0" role="group" aria-label="Log of levels"><table>
      <caption class="unseen">Every level that was run, loudest first</caption>
      <thead><tr><th scope="col">dB nHL</th><th scope="col">sweeps</th><th scope="col">claim</th><th scope="col">V</th><th scope="col">you say</th><th scope="col" title="present: the deflection is at least three times the average gap between the split buffers; absent: it is not, and the gap is narrow enough to say so">3:1 says</th></tr></thead>
      <tbody>${runs.map((run) => {
        const wave = run.peaks.find(({ name, clear }) => name === 'V' && clear);
        return html`<tr><th scope="row">${tickText(run.levelDb)}</th><td>${countText(run.sweepCount)}</td><td>${voltageText(run.ownNoiseUv)}</td>
          <td>${wave ? honestText(wave.latencyMs, wave.latencySdMs, 2, 'ms') : '–'}</td>
          <td><select aria-label=${`What you say at ${run.levelDb} dB`} @change=${(event: Event) => this.say(run, (event.target as HTMLSelectElement).value)}>
            <option value="">…</option>
            ${(Object.keys(verdictWords) as Verdict[]).map((verdict) => html`<option value=${verdict} ?selected=${verdict === run.ownVerdict}>${verdictWords[verdict]}</option>`)}
          </select></td>
          <td>${run.ownVerdict === null ? html`<span class="soft">after you</span>` : verdictWords[run.ruleVerdict]}</td></tr>`;
      })}</tbody></table></div>`;
  }

  private thresholdSentence(): string {
    const { lowestPresentDb, highestAbsentDb, midpointDb, uncertaintyDb, contradictory } = thresholdOf(
      this.bench.series,
    );
    if (contradictory) return 'Your verdicts contradict each other: repeat before you conclude.';
    if (Number.isFinite(midpointDb)) {
      return `Threshold between ${tickText(highestAbsentDb)} and ${tickText(lowestPresentDb)} dB nHL: ${tickText(midpointDb)} ± ${tickText(uncertaintyDb)}.`;
    }
    if (Number.isFinite(lowestPresentDb)) return `Threshold at or below ${tickText(lowestPresentDb)} dB nHL: go lower.`;
    return 'No threshold yet: call a level present and a lower one absent.';
  }

  private latencySentence(): string {
    const latencies = waveLatencies(this.bench.series);
    if (latencies.length === 0) return 'No wave V is clear of the noise yet.';
    const fit = fitOf(this.bench.series);
    const slopes = (fit?.slopes ?? []).filter(({ meaningful }) => meaningful);
    const spans = slopes.map(
      ({ name, value, sd }) => `${name.replace('µs/dB ', '')} ${decimalText(value, 0)} ± ${decimalText(sd, 0)} µs/dB`,
    );
    return `Wave V at ${latencies.map(({ levelDbNhl, latencyMs }) => `${levelDbNhl} dB ${decimalText(latencyMs, 2)} ms`).join(', ')}.${spans.length > 0 ? ` Slope: ${spans.join(', ')}.` : ''}`;
  }

  /** What the picture is laid against: the model's own ears and what is published, told apart. */
  private normsSentence(): string {
    const { bench } = this;
    const model = hasUsualBand(bench) ? 'Model, shaded: wave V of its normal ears, ±2 deviations; no norms. ' : '';
    return `${model}${publishedWords(bench.scenario)}`;
  }

  private stackSentence(runs: readonly SeriesRun[]): string {
    return `Averages at ${runs.map(({ levelDb }) => tickText(levelDb)).join(', ')} dB nHL, one above the other, with their split buffers.`;
  }

  private stackLabels(runs: readonly SeriesRun[]) {
    const { width, height } = this.stack;
    if (width === 0) return null;
    const panels = stackPanels(this.bench, width, height);
    const [{ timeMs, voltageUv }] = panels;
    const tall = voltageUv(voltageUv.from) - voltageUv(voltageUv.to);
    return html`<svg aria-hidden="true">
      ${runs.map(({ levelDb }, k) => svg`<text class="level" x="40" y=${panels[k].voltageUv(0) + 4} text-anchor="end">${tickText(levelDb)} dB</text>`)}
      <line x1="50" x2="50" y1="2" y2=${2 + tall / 2} stroke="var(--ink-soft)" stroke-width="1.5" />
      <text x="46" y=${tall / 4 + 5} text-anchor="end">${voltageText(voltageUv.to)}</text>
      ${linearTicks(timeMs.from, timeMs.to, 8).map((ms) => svg`<text x=${timeMs(ms)} y=${height - 4} text-anchor="middle">${tickText(ms)}${ms === 0 ? ' ms' : ''}</text>`)}
    </svg>`;
  }

  private latencyLabels() {
    const { width, height } = this.latency;
    if (width === 0) return null;
    const { levelDb: x, latencyMs: y } = latencyAxes(this.bench, width, height);
    return html`<svg aria-hidden="true">
      ${linearTicks(x.from, x.to, 9).map((level) => svg`<text x=${x(level)} y=${height - 16} text-anchor="middle">${tickText(level)}</text>`)}
      ${linearTicks(y.from, y.to, 5).map(
        (ms) => svg`<text x="30" y=${y(ms) + 3.5} text-anchor="end">${tickText(ms)}</text>
        <line class="rule" x1=${x(x.from)} x2=${x(x.to)} y1=${y(ms)} y2=${y(ms)} opacity="0.5" />`,
      )}
      ${publishedLatencies(this.bench.scenario).map(
        ({ fromDbNhl, toDbNhl, lowMs }) =>
          svg`<text class="published" x=${x((fromDbNhl + toDbNhl) / 2)} y=${y(lowMs) + 11} text-anchor="middle">published</text>`,
      )}
      ${hasUsualBand(this.bench) ? svg`<text x=${x(46)} y=${y(usualWaveV(46, this.bench.scenario.stimulus.ratePerS).latencyMs - 0.62)} text-anchor="end">model</text>` : nothing}
      <text x=${x(x.to)} y=${height - 3} text-anchor="end">dB nHL; latency of wave V, ms</text></svg>`;
  }

  private setLevel(event: Event): void {
    this.levelDb = (event.target as HTMLInputElement).valueAsNumber;
  }

  private say(run: SeriesRun, value: string): void {
    const ownVerdict = value === '' ? null : (value as Verdict);
    this.bench.setSeries(this.bench.series.map((entry) => (entry === run ? { ...run, ownVerdict } : entry)));
  }

  private start(levels: number[]): void {
    this.queue = levels;
    this.next();
  }

  private next(): void {
    const levelDb = this.queue.shift();
    if (levelDb === undefined) return;
    const { bench } = this;
    this.problem = null;
    try {
      const scenario = scenarioAtLevel(bench.scenario, levelDb);
      this.runningAt = { levelDb, seed: seriesSeed(bench.seed, bench.series, levelDb) };
      void this.session.start({ scenario, seed: this.runningAt.seed, lanes: bench.laneSettings });
    } catch (error) {
      this.queue = [];
      this.problem = (error as Error).message;
    }
  }

  private finish(): void {
    const { result } = this.session;
    const { bench, runningAt } = this;
    if (!result || !runningAt) return;
    const { levelDb, seed } = runningAt;
    const scenario = scenarioAtLevel(bench.scenario, levelDb);
    bench.setSeries([...bench.series, seriesRun(scenario, result, levelDb, seed, this.lane)]);
    this.next();
  }
}

import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { RaceResult } from '../../core/session/race.ts';
import type { Bench, BenchChange } from '../model/bench.ts';
import { laneLetters, raceSentence } from '../model/narration.ts';
import { countText, decimalText, secondsText, tickText, voltageText } from '../model/numberText.ts';
import { hasSilences } from '../model/sessionClock.ts';
import { expectedTables, type TableHost } from '../model/viewTables.ts';
import { drawRace, judgedBy, poleHeight, raceAxes } from '../stage/racePicture.ts';
import { logTicks } from '../stage/scale.ts';
import { taskInWorker } from '../worker/taskClient.ts';
import './dataTables.ts';
import { benchTables, tablesOn } from '../model/pictureTables.ts';
import { BenchController } from './benchController.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';

const REPLICATES = 12; // our choice: about five seconds on an ordinary machine

type ExpectedState =
  | { kind: 'idle' }
  | { kind: 'running'; fraction: number }
  | { kind: 'done'; result: RaceResult }
  | { kind: 'failed'; message: string };

/** How the labels of a race look, on the screen and on paper. */
export const raceLabelStyles = css`
  svg .rule { stroke: var(--rule); stroke-width: 1; }
  svg .target { fill: var(--target); font-weight: 600; }
  svg .flag { font-weight: 700; font-size: 11px; fill: var(--lane); paint-order: stroke; stroke: var(--paper); stroke-width: 3px; }
`;

/** The race strip: noise against seconds on log axes, finishing flags, and what to expect over more patients. */
@customElement('sweep-race')
export class SweepRace extends LitElement implements TableHost {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    raceLabelStyles,
    css`
      .head { display: flex; gap: 0.6rem; align-items: baseline; flex-wrap: wrap; }
      .head .soft, .note { font-size: 0.86rem; }
      .picture { height: var(--race-height, 20rem); }
      .actions { display: flex; flex-wrap: wrap; gap: 0.3rem 0.6rem; align-items: center; margin-top: 0.3rem; }
      progress { accent-color: var(--ink); width: 8rem; }
      details { margin-top: 0.3rem; }
      th { white-space: nowrap; }
      th .badge { vertical-align: -4px; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private expected: ExpectedState = { kind: 'idle' };
  private abort: AbortController | null = null;
  private expectedOf: { scenario: unknown; seed: string } | null = null;

  private readonly picture = new PictureController(this, (ink, w, h, palette) => {
    drawRace(this.bench, this.expectedResult, ink, w, h, palette);
  });

  constructor() {
    super();
    new BenchController(this, (change) => {
      if (change === 'settings') this.dropExpected(change);
      this.picture.invalidate();
    });
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.abort?.abort();
  }

  override render() {
    const { bench } = this;
    return html`
      <section aria-label="Race strip">
        <div class="head">
          <h2>Race to ${tickText(bench.scenario.session.targetNv)} nV</h2>
          <span class="soft">
            ${bench.truthSealed ? 'noise as each lane claims it (truth sealed)' : 'true residual noise, thin: own claim'}
          </span>
        </div>
        <div class="picture" data-tables="noise" role="img" aria-label=${raceSentence(bench)}><canvas></canvas>${raceLabels(bench, this.picture.width, this.picture.height)}</div>
        <div class="actions">
          ${this.expectedControls()}
        </div>
        ${this.expected.kind === 'done' && !bench.truthSealed ? this.expectedTable(this.expected.result) : nothing}
        <details><summary>Numbers as a table</summary>${this.numbersTable()}</details>
        <sweep-data-tables label="Lanes and race as tables" .tables=${() => tablesOn(bench, [...benchTables('noise', 'averages', 'weights'), ...this.tables()])}></sweep-data-tables>
      </section>
    `;
  }

  /** What more patients lead one to expect, where that was asked for. */
  get expectedResult(): RaceResult | null {
    return this.expected.kind === 'done' ? this.expected.result : null;
  }

  tables() {
    return this.expected.kind === 'done' && !this.bench.truthSealed ? expectedTables(this.expected.result) : [];
  }

  private expectedControls() {
    if (this.expected.kind === 'running') {
      return html`<progress max="1" .value=${this.expected.fraction} aria-label="Racing more patients"></progress>
        <button @click=${() => this.abort?.abort()}>Stop</button>`;
    }
    const failed =
      this.expected.kind === 'failed' ? html`<span class="problem">${this.expected.message}</span>` : nothing;
    return html`<button ?disabled=${this.bench.truthSealed} @click=${this.raceReplicates}>Expected over ${REPLICATES} patients</button>
      <span class="soft note">
        ${this.bench.truthSealed ? 'Expected values need the truth: unseal it first.' : 'One run scatters by about 20 %.'}
      </span>${failed}`;
  }

  private expectedTable(result: RaceResult) {
    return html`<div class="scroll"><table>
      <caption class="unseen">Expected over ${REPLICATES} patients with the same settings, with 95 % intervals</caption>
      <thead><tr><th scope="col">Expected (95 %)</th><th scope="col">to target</th><th scope="col">noise at end</th><th scope="col">gain</th></tr></thead>
      <tbody>${result.lanes.map((lane, k) => {
        const seconds = lane.secondsToTarget;
        const noise = lane.expectedResidualNoiseNv;
        const high = seconds && (Number.isFinite(seconds.high) ? seconds.high.toFixed(0) : 'never');
        return html`<tr><th scope="row">${laneBadge(k)}</th>
          <td>${seconds ? html`${secondsText(seconds.value)} <span class="soft">${seconds.low.toFixed(0)}–${high}</span>` : 'never'}</td>
          <td>${voltageText(noise.value / 1000)} <span class="soft">${noise.low.toFixed(0)}–${noise.high.toFixed(0)}</span></td>
          <td>${decimalText(lane.amplitudeGain.value, 2)}</td></tr>`;
      })}</tbody></table></div>`;
  }

  private numbersTable() {
    const { bench } = this;
    const sealed = bench.truthSealed;
    return html`<div class="scroll" tabindex="0" role="group" aria-label="Numbers of all lanes"><table>
      <caption class="unseen">Every lane after ${secondsText(bench.record.seconds)}</caption>
      <thead><tr><th scope="col">Lane</th><th scope="col">${sealed ? 'claims target at' : 'target at'}</th><th scope="col">claim</th>
        ${sealed ? nothing : html`<th scope="col">true</th><th scope="col">gain</th>`}
        <th scope="col">split r</th><th scope="col">used</th><th scope="col">effective</th></tr></thead>
      <tbody>${bench.record.lanes.map(({ reading, name }, lane) => {
        const arrivalS = bench.record.arrivalS(lane, judgedBy(bench));
        return html`<tr><th scope="row">${laneLetters[lane]} ${name}</th>
          <td>${arrivalS === null ? 'not yet' : secondsText(arrivalS)}</td><td>${voltageText(reading.ownNoiseUv)}</td>
          ${sealed ? nothing : html`<td>${voltageText(reading.residualNoiseUv)}</td><td>${decimalText(reading.amplitudeGain, 3)}</td>`}
          <td>${decimalText(reading.splitCorrelation, 3)}</td><td>${countText(reading.usedCount)}</td>
          <td>${countText(reading.effectiveCount)}</td></tr>`;
      })}</tbody></table></div>`;
  }

  private dropExpected(_change: BenchChange): void {
    const { scenario, seed } = this.bench;
    const of = this.expectedOf;
    if (of?.scenario === scenario && of.seed === seed) return;
    this.abort?.abort();
    this.expected = { kind: 'idle' };
  }

  private async raceReplicates(): Promise<void> {
    const { scenario, seed } = this.bench;
    const abort = new AbortController();
    this.abort = abort;
    this.expectedOf = { scenario, seed };
    this.expected = { kind: 'running', fraction: 0 };
    const order = { seed, replicates: REPLICATES, targetNv: scenario.session.targetNv, lanes: this.bench.laneSettings };
    try {
      const result = await taskInWorker(
        'race',
        { scenario, race: order },
        ({ fraction }) => {
          if (!abort.signal.aborted) this.expected = { kind: 'running', fraction };
        },
        abort.signal,
      );
      this.expected = { kind: 'done', result };
    } catch (error) {
      if (this.abort !== abort) return;
      this.expected = abort.signal.aborted ? { kind: 'idle' } : { kind: 'failed', message: (error as Error).message };
    }
    this.picture.invalidate();
  }
}

/** Numbers and flags over a race of that size. */
export function raceLabels(bench: Bench, width: number, height: number) {
  if (width === 0) return null;
  const { seconds: x, noiseNv: y } = raceAxes(bench, width, height);
  const { targetNv } = bench.scenario.session;
  const bottom = y(y.from);
  const noiseTicks = logTicks(y.from, y.to).filter((tick) => y.to / y.from < 300 || /^[15]/.test(String(tick)));
  const timeTicks = logTicks(x.from, x.to);
  return html`<svg aria-hidden="true">
    ${noiseTicks.map(
      (
        nv,
      ) => svg`<text x=${x(x.from) - 5} y=${y(nv) + 3.5} text-anchor="end">${nv >= 1000 ? `${nv / 1000} µV` : nv}</text>
        <line class="rule" x1=${x(x.from)} x2=${x(x.to)} y1=${y(nv)} y2=${y(nv)} opacity="0.55" />`,
    )}
    <text x="2" y="9">nV</text>
    ${timeTicks.map(
      (s) => svg`<text x=${x(s)} y=${bottom + 13} text-anchor="middle">${tickText(s)}</text>
        <line class="rule" x1=${x(s)} x2=${x(s)} y1=${bottom} y2=${bottom + 4} />`,
    )}
    <text x=${x(x.to)} y=${bottom + 26} text-anchor="end">${hasSilences(bench.scenario) ? 'seconds, rests and pauses included' : 'seconds of stimulation'}</text>
    <line class="rule" x1=${x(x.from)} x2=${x(x.to)} y1=${bottom} y2=${bottom} />
    <text class="target" x=${x(x.from) + 4} y=${y(targetNv) + 13}>target</text>
    <text x=${x(x.from) + 4} y=${bottom - 5}>dotted: slope −½</text>
    ${bench.record.lanes.map((_, lane) => {
      const arrivalS = bench.record.arrivalS(lane, judgedBy(bench));
      if (arrivalS === null) return nothing;
      const atEnd = x(arrivalS) > width - 80;
      const colour = `--lane: var(--lane-${laneLetters[lane].toLowerCase()})`;
      return svg`<text class="flag" style=${colour} x=${x(arrivalS) + (atEnd ? -4 : 12)} y=${y(targetNv) - poleHeight(lane) + 8}
        text-anchor=${atEnd ? 'end' : 'start'}>${laneLetters[lane]} ${secondsText(arrivalS)}</text>`;
    })}
  </svg>`;
}

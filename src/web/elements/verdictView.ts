import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { NoiseLedger } from '../../core/session/ledger.ts';
import type { RaceResult } from '../../core/session/race.ts';
import type { Bench } from '../model/bench.ts';
import { laneLetters } from '../model/narration.ts';
import { decimalText, secondsText, tickText, voltageText } from '../model/numberText.ts';
import { type TableHost, verdictTables } from '../model/viewTables.ts';
import { logTicks } from '../stage/scale.ts';
import { claimAxes, cloudAxes, drawClaims, drawCloud, HONEST } from '../stage/verdictPicture.ts';
import './dataTables.ts';
import { tablesOn } from '../model/pictureTables.ts';
import { BenchController } from './benchController.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';
import { TaskController } from './taskController.ts';

const REPLICATES = 12; // our choice: some ten seconds on an ordinary machine

/** What the unsealed truth tells: who lied, what the error is made of, how other patients would have come out. */
@customElement('sweep-verdict')
export class SweepVerdict extends LitElement implements TableHost {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    css`
      .head { display: flex; flex-wrap: wrap; gap: 0.3rem 0.8rem; align-items: baseline; }
      .two { display: grid; gap: 0.8rem 1.4rem; grid-template-columns: minmax(0, 1fr); }
      .picture { height: 14rem; }
      .picture .rule { stroke: var(--rule); }
      .row { display: flex; flex-wrap: wrap; gap: 0.35rem 0.7rem; align-items: center; margin: 0.4rem 0; }
      .bar { display: block; height: 0.42rem; background: var(--lane); margin-top: 0.1rem; margin-left: auto; }
      .ledger td { min-width: 4.4rem; }
      .total th, .total td { border-top: 1px solid var(--ink); font-weight: 600; }
      .sealed { border: 1px solid var(--truth); border-radius: 4px; padding: 0.8rem 1rem; max-width: 40rem; }
      .sealed p { margin: 0.3rem 0; }
      p { margin: 0.2rem 0; font-size: 0.92rem; }
      h3 { margin-top: 0.5rem; }
      @media (min-width: 60rem) { .two { grid-template-columns: repeat(2, minmax(0, 1fr)); } }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  private ledgerOf: string | null = null;
  private readonly ledger = new TaskController(this, 'ledger');
  private readonly others = new TaskController(this, 'replicates', () => this.cloud.invalidate());
  private readonly claims = new PictureController(
    this,
    (ink, w, h, palette) => drawClaims(this.bench, ink, w, h, palette),
    '.claims canvas',
  );
  private readonly cloud = new PictureController(
    this,
    (ink, w, h, palette) => {
      const { result } = this.others;
      if (result) drawCloud(result, this.bench.scenario.session.targetNv, ink, w, h, palette);
    },
    '.cloud canvas',
  );

  constructor() {
    super();
    new BenchController(this, (change) => {
      this.claims.invalidate();
      if (change === 'settings') this.forget();
    });
  }

  override render() {
    const { bench } = this;
    if (bench.truthSealed) return this.sealed();
    return html`
      <section aria-label="Verdict">
        <div class="head"><h2>What the truth says</h2>
          <span class="soft">of this run after ${secondsText(bench.record.seconds)}, and of its kind</span></div>
        <div class="two">
          <div>
            <h3>Claims over truth</h3>
            <div class="picture claims" data-tables="claims" role="img" aria-label=${this.claimSentence()}><canvas></canvas>${this.claimLabels()}</div>
          </div>
          <div>
            <h3>Other patients of this kind</h3>
            ${this.others.result ? this.cloudPicture(this.others.result) : html`<p>One run is one patient. ${REPLICATES} of the same kind show what to expect, and the oracle, which knows the true noise of every sweep, what could have been.</p>`}
            <div class="row">
              <button id="others" ?disabled=${this.others.state.kind === 'running'} @click=${this.runOthers}>Run ${REPLICATES} patients and the oracle</button>
              ${this.others.progress('Running more patients')}
            </div>
          </div>
        </div>
        ${this.others.result ? this.regretTable(this.others.result) : nothing}
        <h3>What the error is made of</h3>
        <div class="row">
          <button id="ledger" ?disabled=${this.ledger.state.kind === 'running'} @click=${this.runLedger}>Take the whole session apart</button>
          ${this.ledger.progress('Taking the error apart')}
          <span class="soft">Every source is run alone, on the same draws, with the weights that each lane gave.</span>
        </div>
        ${this.ledger.result ? this.ledgerTable(this.ledger.result) : nothing}
        <sweep-data-tables .tables=${() => tablesOn(bench, this.tables())}></sweep-data-tables>
      </section>
    `;
  }

  tables() {
    return verdictTables(this.bench, this.ledger.result, this.others.result);
  }

  private sealed() {
    const { bench } = this;
    return html`<section class="sealed" aria-label="Verdict">
      <h2>Sealed</h2>
      <p>What the noise really was, who claimed too little, what your error is made of: all of it is known here, and it waits
        until your marks are committed on the desk.</p>
      <div class="row">${
        bench.sealHeld
          ? html`<span class="soft">A lesson holds the seal.</span>`
          : html`<button @click=${() => bench.sealTruth(false)}>Break the seal without marks: practice</button>`
      }</div></section>`;
  }

  private claimSentence(): string {
    const lanes = this.bench.record.lanes.map(({ reading, name }, lane) => {
      const ratio = reading.ownNoiseUv / reading.residualNoiseUv;
      const word = ratio < HONEST[0] ? 'rosy' : ratio > HONEST[1] ? 'cautious' : 'honest';
      return `Lane ${laneLetters[lane]}, ${name}: claim is ${decimalText(ratio, 2)} of the true noise${Number.isFinite(ratio) ? `, ${word}` : ''}.`;
    });
    return `Own claim over true noise against seconds. ${lanes.join(' ')}`;
  }

  private claimLabels() {
    const { width, height } = this.claims;
    if (width === 0) return null;
    const { seconds: x, ratio: y } = claimAxes(this.bench, width, height);
    return html`<svg aria-hidden="true">
      ${[0.25, 0.5, 1, 2, 4].map((ratio) => svg`<text x="36" y=${y(ratio) + 3.5} text-anchor="end">×${ratio}</text>`)}
      ${logTicks(x.from, x.to).map((s) => svg`<text x=${x(s)} y=${height - 16} text-anchor="middle">${tickText(s)}</text>`)}
      <text x=${x(x.to)} y=${height - 3} text-anchor="end">seconds</text>
      <text x=${x(x.from) + 4} y=${y(y.from) - 4}>rosy: claims less noise than there is</text>
      <text x=${x(x.from) + 4} y=${y(y.to) + 10}>cautious</text></svg>`;
  }

  private cloudPicture(result: RaceResult) {
    const sentence = result.lanes
      .map(
        ({ expectedResidualNoiseNv, amplitudeGain }, lane) =>
          `Lane ${laneLetters[lane]}: expected noise ${voltageText(expectedResidualNoiseNv.value / 1000)}, gain ${decimalText(amplitudeGain.value, 2)}.`,
      )
      .join(' ');
    return html`<div class="picture cloud" data-tables="patients" role="img" aria-label=${`Noise at the end and gain of ${REPLICATES} patients. ${sentence}`}><canvas></canvas>${this.cloudLabels(result)}</div>`;
  }

  private cloudLabels(result: RaceResult) {
    const { width, height } = this.cloud;
    if (width === 0) return null;
    const { noiseNv: x, gain: y } = cloudAxes(result, width, height);
    return html`<svg aria-hidden="true">
      ${[0.5, 0.7, 1, 1.4, 2].map((gain) => svg`<text x="36" y=${y(gain) + 3.5} text-anchor="end">${gain}</text>`)}
      ${logTicks(x.from, x.to).map((nv) => svg`<text x=${x(nv)} y=${height - 16} text-anchor="middle">${tickText(nv)}</text>`)}
      <text x=${x(x.to)} y=${height - 3} text-anchor="end">true noise at the end, nV</text>
      <text x=${x(x.to)} y=${y(y.to) + 10} text-anchor="end">gain; crosses: medians; line: target</text></svg>`;
  }

  private regretTable(result: RaceResult) {
    const seconds = (s: number | null | undefined) =>
      s === null || s === undefined || !Number.isFinite(s) ? 'never' : secondsText(s);
    return html`<div class="scroll" tabindex="0" role="group" aria-label="Regret"><table>
      <caption class="unseen">What each lane lost against the oracle, over ${REPLICATES} patients</caption>
      <thead><tr><th scope="col">Lane</th><th scope="col">to target</th><th scope="col">oracle</th><th scope="col">lost</th>
        <th scope="col">noise × oracle</th><th scope="col">claim × truth</th><th scope="col">patients at target</th></tr></thead>
      <tbody>${result.lanes.map(({ regret, honesty, runs }, lane) => {
        const lost = regret && Number.isFinite(regret.lostS) ? `${decimalText(regret.lostS, 1)} s` : '–';
        return html`<tr><th scope="row">${laneBadge(lane)}<span class="unseen">${laneLetters[lane]}</span></th>
          <td>${seconds(regret?.laneS)}</td><td>${seconds(regret?.oracleS)}</td><td>${lost}</td>
          <td>${decimalText(regret?.noiseRatio ?? NaN, 2)}</td><td>${decimalText(honesty, 2)}</td>
          <td>${runs.filter(({ arrivalS }) => arrivalS !== null).length} of ${runs.length}</td></tr>`;
      })}</tbody></table></div>
      ${
        result.lanes.some(({ regret }) => regret && regret.lostS < 0)
          ? html`<p class="soft">Less than nothing lost: by chance, or because the lane shrinks the response.</p>`
          : nothing
      }`;
  }

  private ledgerTable(ledgers: NoiseLedger[]) {
    const [first] = ledgers;
    const largest = Math.max(
      ...ledgers.flatMap(({ totalNv, rows }) => [totalNv, ...rows.map(({ rmsNv }) => rmsNv)]).filter(Number.isFinite),
    );
    const bar = (nv: number, lane: number) =>
      html`<td>${voltageText(nv / 1000)}<span class="bar" style=${`--lane: var(--lane-${laneLetters[lane].toLowerCase()}); width: ${(Number.isFinite(nv) ? (100 * nv) / largest : 0).toFixed(1)}%`}></span></td>`;
    return html`<div class="scroll" tabindex="0" role="group" aria-label="Noise ledger"><table class="ledger">
      <caption class="unseen">The error of every lane at the end of the session, by source</caption>
      <thead><tr><th scope="col">nV rms in the window</th>${ledgers.map((_, lane) => html`<th scope="col">${laneBadge(lane)}<span class="unseen">Lane ${laneLetters[lane]}</span></th>`)}</tr></thead>
      <tbody>
        ${first.rows.map(({ label }, k) => html`<tr><th scope="row">${label}</th>${ledgers.map(({ rows }, lane) => bar(rows[k].rmsNv, lane))}</tr>`)}
        <tr><th scope="row" title="sources that by chance help or cancel each other in this run: what the powers above do not add up to">Cross terms (power)</th>${ledgers.map((ledger) => html`<td>${this.crossShare(ledger)}</td>`)}</tr>
        <tr class="total"><th scope="row">Error of the average</th>${ledgers.map(({ totalNv }, lane) => bar(totalNv, lane))}</tr>
      </tbody></table></div>
      ${
        ledgers.some(({ exact }) => !exact)
          ? html`<p class="soft">Lanes that are no weighted sums are taken apart approximately: ${ledgers
              .map(({ exact }, lane) => (exact ? '' : laneLetters[lane]))
              .filter(Boolean)
              .join(', ')}.</p>`
          : nothing
      }
      ${
        ledgers.some(({ totalNv }) => Number.isNaN(totalNv))
          ? html`<p class="soft">A lane that used no sweep has no average to take apart.</p>`
          : nothing
      }`;
  }

  /** Power of the cross terms in per cent of the total: rows that cancel or help each other. */
  private crossShare({ totalNv, rows }: NoiseLedger): string {
    const own = rows.reduce((sum, { rmsNv }) => sum + rmsNv * rmsNv, 0);
    return `${decimalText(100 * (1 - own / (totalNv * totalNv)), 0)} %`;
  }

  private run() {
    const { scenario, seed, laneSettings: lanes } = this.bench;
    return { scenario, seed, lanes };
  }

  private runLedger(): void {
    this.ledgerOf ??= JSON.stringify(this.run());
    void this.ledger.start(this.run());
  }

  private runOthers(): void {
    this.ledgerOf ??= JSON.stringify(this.run());
    void this.others.start({ ...this.run(), replicates: REPLICATES });
  }

  /** Results of another scenario are let go of. */
  private forget(): void {
    if (this.ledgerOf === null || this.ledgerOf === JSON.stringify(this.run())) return;
    this.ledgerOf = null;
    this.ledger.clear();
    this.others.clear();
  }
}

import { css, html, LitElement, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { averagingStrategy } from '../../core/averaging/index.ts';
import type { ImplantResult } from '../../core/session/implant.ts';
import type { RecordingResult } from '../../core/session/recordingRun.ts';
import { laneLetters } from '../model/narration.ts';
import { anchorAt, countText, decimalText, secondsText, tickText, voltageText } from '../model/numberText.ts';
import { type AveragedLanes, drawRecording, recordingAxes } from '../stage/recordingPicture.ts';
import { linearTicks } from '../stage/scale.ts';
import './dataTables.ts';
import { averagesTable } from '../model/pictureTables.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';

/** What came out of a recording: its own events, where truth is not known, or an implanted response, where it is. */
export type RecordingOutcome =
  | { kind: 'own'; result: RecordingResult }
  | { kind: 'implant'; result: ImplantResult; responseLabel: string };

/** The averages of a recording and what is known of each lane. */
@customElement('sweep-recording-report')
export class SweepRecordingReport extends LitElement {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    css`
      .picture { height: 17rem; margin-top: 0.6rem; }
      .picture .lane { fill: var(--lane); font-weight: 700; font-size: 12px; }
      p { margin: 0.3rem 0; }
      .truth { border-left: 3px solid var(--truth); padding-left: 0.5rem; }
    `,
  ];

  @property({ attribute: false }) outcome!: RecordingOutcome;
  /** Whether the two split buffers lie over every average. */
  @property({ type: Boolean }) splitShown = false;

  private readonly picture = new PictureController(this, (ink, w, h, palette) =>
    drawRecording(averagesOf(this.outcome), this.splitShown, ink, w, h, palette),
  );

  override updated(): void {
    this.picture.invalidate();
  }

  override render() {
    const { outcome } = this;
    return html`
      ${outcome.kind === 'own' ? this.ownSummary(outcome.result) : this.implantSummary(outcome)}
      <div class="picture" data-tables="recording-averages" role="img" aria-label=${this.sentence()}><canvas></canvas>${this.labels()}</div>
      <div class="scroll" tabindex="0" role="group" aria-label="Report">
        ${outcome.kind === 'own' ? this.ownTable(outcome.result) : this.implantTable(outcome.result)}
      </div>
      <sweep-data-tables label="Picture as a table" .tables=${() => [this.averages()]}></sweep-data-tables>
      <p class="soft">Lanes and tunables are those of the bench, except the limit of rejection: 2.5 times the middle peak,
        here ${this.limitText()}.</p>
    `;
  }

  private ownSummary({ sweepsOffered, eventsSkipped }: RecordingResult) {
    const skipped = eventsSkipped > 0 ? `, ${countText(eventsSkipped)} events skipped at the edges or in gaps` : '';
    return html`<p class="truth">The truth is not known here. What can be told: each strategy's own claim, how alike its
        two split buffers are, and how large such an average gets at random moments.</p>
      <p class="number">${countText(sweepsOffered)} sweeps${skipped}.</p>`;
  }

  private implantSummary({ result, responseLabel }: RecordingOutcome & { kind: 'implant' }) {
    const { scenario, truthPeakUv, sweepsOffered } = result;
    return html`<p class="truth">The truth is known: ${responseLabel}, ${voltageText(truthPeakUv)} at its largest, dashed in
        the picture. The background is the recording's own.</p>
      <p class="number">${countText(sweepsOffered)} sweeps in ${secondsText(scenario.session.durationS)}, at
        ${tickText(scenario.stimulus.ratePerS)}/s.</p>`;
  }

  private ownTable({ lanes }: RecordingResult) {
    return html`<table>
      <caption class="unseen">What is known of each lane on this recording</caption>
      <thead><tr><th scope="col">Lane</th><th scope="col">claim</th><th scope="col">average</th><th scope="col">random moments</th>
        <th scope="col">split r</th><th scope="col">halves r</th><th scope="col">used</th></tr></thead>
      <tbody>${lanes.map(
        (lane, k) => html`<tr>${laneHead(k, lane.strategy)}
          <td>${voltageText(lane.ownNoiseNv / 1000)}</td><td>${voltageText(lane.averageNv / 1000)}</td>
          <td>${voltageText(lane.randomWindowNv / 1000)}</td><td>${decimalText(lane.splitCorrelation, 2)}</td>
          <td>${decimalText(lane.halvesCorrelation, 2)}</td><td>${countText(lane.sweepsUsed)}</td></tr>`,
      )}</tbody></table>`;
  }

  private implantTable({ lanes }: ImplantResult) {
    return html`<table>
      <caption class="unseen">Each lane against the known response</caption>
      <thead><tr><th scope="col">Lane</th><th scope="col">claim</th><th scope="col">true</th><th scope="col">gain</th>
        <th scope="col">split r</th><th scope="col">used</th></tr></thead>
      <tbody>${lanes.map(
        (lane, k) => html`<tr>${laneHead(k, lane.strategy)}
          <td>${voltageText(lane.ownNoiseUv)}</td><td>${voltageText(lane.residualNoiseUv)}</td>
          <td>${decimalText(lane.amplitudeGain, 2)}</td><td>${decimalText(lane.splitCorrelation, 2)}</td>
          <td>${countText(lane.usedCount)}</td></tr>`,
      )}</tbody></table>`;
  }

  private averages() {
    const { lanes, truthUv, firstSampleMs, sampleRateHz } = averagesOf(this.outcome);
    const averagesUv = lanes.map(({ averageUv }) => averageUv);
    return averagesTable('Averages of the recording', averagesUv, truthUv, firstSampleMs, sampleRateHz);
  }

  private limitText(): string {
    const lane = this.outcome.result.lanes.find(({ strategy }) => strategy === 'threshold-rejection');
    return lane ? `±${tickText(lane.parameters.thresholdUv)} µV` : 'no lane has one';
  }

  private sentence(): string {
    const { outcome } = this;
    const lanes =
      outcome.kind === 'own'
        ? outcome.result.lanes.map(
            (lane, k) =>
              `Lane ${laneLetters[k]}: average ${voltageText(lane.averageNv / 1000)} rms, at random moments ${voltageText(lane.randomWindowNv / 1000)}, split-buffer correlation ${decimalText(lane.splitCorrelation, 2)}.`,
          )
        : outcome.result.lanes.map(
            (lane, k) =>
              `Lane ${laneLetters[k]}: residual noise ${voltageText(lane.residualNoiseUv)}, gain ${decimalText(lane.amplitudeGain, 2)}.`,
          );
    const what =
      outcome.kind === 'own' ? 'Averages of the recording' : 'Averages of the implanted response, truth dashed';
    return `${what}. ${lanes.join(' ')}`;
  }

  private labels() {
    const { width, height } = this.picture;
    if (width === 0) return null;
    const { timeMs, lanesUv } = recordingAxes(averagesOf(this.outcome), width, height);
    return html`<svg aria-hidden="true">
      ${linearTicks(timeMs.from, timeMs.to, 6).map(
        (ms) =>
          svg`<text x=${timeMs(ms)} y=${height - 4} text-anchor=${anchorAt(timeMs(ms), width)}>${tickText(ms)}${ms === 0 ? ' ms' : ''}</text>`,
      )}
      ${lanesUv.map(
        (y, lane) => svg`<text x="30" y=${y(y.to) + 8} text-anchor="end">${tickText(y.to)}</text>
          <text x="30" y=${y(0) + 4} text-anchor="end">${lane === 0 ? 'µV' : '0'}</text>
          <text class="lane" style=${`--lane: var(--lane-${laneLetters[lane].toLowerCase()})`} x="2" y=${y(0) + 4}>${laneLetters[lane]}</text>`,
      )}
    </svg>`;
  }
}

function laneHead(lane: number, strategy: string) {
  return html`<th scope="row">${laneBadge(lane)}<span class="unseen">${averagingStrategy(strategy).label}</span></th>`;
}

function averagesOf(outcome: RecordingOutcome): AveragedLanes {
  if (outcome.kind === 'implant') return outcome.result;
  const { lanes, firstSampleMs, sampleRateHz } = outcome.result;
  const own = lanes.map((lane) => ({ ...lane, ownNoiseUv: lane.ownNoiseNv / 1000 }));
  return { lanes: own, firstSampleMs, sampleRateHz, truthUv: null };
}

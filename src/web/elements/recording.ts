import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { averagingStrategy } from '../../core/averaging/index.ts';
import type { RecordingResult } from '../../core/session/recordingRun.ts';
import { voltageUnits } from '../../formats/physicalUnit.ts';
import type { ReadRecordingOptions } from '../../formats/recording.ts';
import type { Bench } from '../model/bench.ts';
import { laneLetters } from '../model/narration.ts';
import { countText, decimalText, tickText, voltageText } from '../model/numberText.ts';
import { type RecordingSetup, recordingSetup, type StimulusRow, stimulusChoices } from '../model/recordingSetup.ts';
import { drawRecording, recordingAxes } from '../stage/recordingPicture.ts';
import { linearTicks } from '../stage/scale.ts';
import { type RecordingClient, type RecordingContents, recordingClient } from '../worker/recordingClient.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';
import './stimulusMap.ts';

type Stage = 'empty' | 'reading' | 'choosing' | 'running' | 'done';

/** A recording of the person's own: channels, events, window and band, then the same lanes, and what is known there. */
@customElement('sweep-recording')
export class SweepRecording extends LitElement {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    css`
      form { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 0.4rem 0.6rem; margin: 0.5rem 0; }
      label { display: grid; gap: 0.1rem; font-size: 0.9rem; min-width: 0; }
      .unsaid { display: grid; grid-template-columns: minmax(0, 1.6fr) minmax(0, 1fr); gap: 0.4rem 0.6rem; margin-top: 0.3rem; align-items: end; }
      .wide { grid-column: 1 / -1; }
      .wide button { width: 100%; }
      input, select { width: 100%; min-width: 0; }
      .pair { display: flex; gap: 0.3rem; align-items: center; }
      .picture { height: 17rem; margin-top: 0.6rem; }
      .picture .lane { fill: var(--lane); font-weight: 700; font-size: 12px; }
      ul { margin: 0.2rem 0; padding-left: 1.1rem; font-size: 0.9rem; overflow-wrap: anywhere; }
      .problem { overflow-wrap: anywhere; }
      p { margin: 0.3rem 0; }
      .truth { border-left: 3px solid var(--truth); padding-left: 0.5rem; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private stage: Stage = 'empty';
  @state() private problem: string | null = null;
  @state() private contents: RecordingContents | null = null;
  @state() private setup: RecordingSetup | null = null;
  @state() private result: RecordingResult | null = null;
  private client: RecordingClient | null = null;
  private files: readonly File[] = [];

  private readonly picture = new PictureController(this, (ink, w, h, palette) => {
    if (this.result) drawRecording(this.result, ink, w, h, palette);
  });

  /** Reads files (several are pooled) and runs the lanes on them with a first guess of the settings. */
  async open(files: readonly File[]): Promise<void> {
    this.client?.close();
    this.files = files;
    const client = recordingClient();
    this.client = client;
    this.stage = 'reading';
    this.problem = null;
    this.contents = null;
    this.result = null;
    try {
      const bytes = await Promise.all(files.map(async (file) => new Uint8Array(await file.arrayBuffer())));
      const contents = await client.read(
        files.map(({ name }, k) => ({ name, bytes: bytes[k] })),
        this.unsaid(),
      );
      if (this.client !== client) return; // newer files have been opened since
      this.contents = contents;
      this.setup = recordingSetup(contents);
      this.stage = 'choosing';
      if (stimulusChoices(this.setup.rows).length > 0) await this.run();
    } catch (error) {
      if (this.client !== client) return;
      this.stage = 'empty';
      this.problem = (error as Error).message;
    }
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.client?.close();
    this.client = null;
  }

  override render() {
    return html`
      <section aria-label="Own recording">
        <p>Race the lanes on a recording of yours. Drop files anywhere on this page, or choose them here: delimited text
          (also gzipped), EDF+, BDF+, or a WFDB header with its files. Several recordings are pooled. Nothing leaves this
          machine.</p>
        <label class="wide">Files
          <input type="file" multiple accept=".csv,.tsv,.txt,.gz,.edf,.bdf,.hea,.dat,.atr" @change=${this.choose} /></label>
        <div class="unsaid">
          <label>Sample rate, Hz, if the file does not say
            <input id="rate" type="number" min="1" step="any" placeholder="from the file" @change=${this.openAgain} /></label>
          <label>Unit, if it does not say
            <select id="unit" @change=${this.openAgain}>${voltageUnits.map((unit) => html`<option ?selected=${unit === 'µV'}>${unit}</option>`)}</select></label>
        </div>
        ${this.problem === null ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}
        ${this.stage === 'reading' ? html`<p role="status">Reading …</p>` : nothing}
        ${this.contents && this.setup ? this.form(this.contents, this.setup) : nothing}
        ${this.result ? this.report(this.result) : nothing}
      </section>
    `;
  }

  private form(contents: RecordingContents, setup: RecordingSetup) {
    const [first] = contents.channels;
    const stimulusCount = stimulusChoices(setup.rows).length;
    return html`
      <p><strong>${contents.names.join(', ')}</strong>: ${contents.channels.length} channels, ${tickText(first.sampleRateHz)} Hz,
        ${first.durationS.toFixed(0)} s${contents.names.length > 1 ? ' in the first' : ''}.</p>
      ${contents.warnings.length > 0 ? html`<ul>${contents.warnings.map((warning) => html`<li>Warning: ${warning}</li>`)}</ul>` : nothing}
      <form @submit=${this.submit}>
        <label class="wide">Channel, or A-B for a difference
          <input name="channel" type="text" list="channels" required .value=${setup.channel} />
          <datalist id="channels">${contents.channels.map(({ label }) => html`<option value=${label}></option>`)}</datalist>
        </label>
        <sweep-stimulus-map class="wide" .rows=${setup.rows} .channels=${contents.channels.map(({ label }) => label)}
          @stimuli-set=${this.mapStimuli}></sweep-stimulus-map>
        ${this.pair('window', 'Window, ms', setup.windowMs)} ${this.pair('band', 'Band, Hz', setup.bandHz)}
        <div class="wide"><button class="primary" ?disabled=${this.stage === 'running' || stimulusCount === 0}>
          ${this.stage === 'running' ? 'Racing …' : 'Race on this recording'}</button></div>
      </form>
    `;
  }

  private pair(name: string, label: string, [from, to]: readonly [number, number]) {
    return html`<div role="group" aria-label=${label}>
      <label>${label}<span class="pair">
        <input name=${`${name}From`} type="number" step="any" required .value=${String(from)} aria-label=${`${label}, from`} />
        <input name=${`${name}To`} type="number" step="any" required .value=${String(to)} aria-label=${`${label}, to`} />
      </span></label></div>`;
  }

  private report(result: RecordingResult) {
    return html`
      <p class="truth">The truth is not known here. What can be told: each strategy's own claim, how alike its two split
        buffers are, and how large such an average gets at random moments.</p>
      <p class="number">${countText(result.sweepsOffered)} sweeps${result.eventsSkipped > 0 ? `, ${countText(result.eventsSkipped)} events skipped at the edges or in gaps` : ''}.</p>
      <div class="picture" role="img" aria-label=${this.sentence(result)}><canvas></canvas>${this.labels(result)}</div>
      <div class="scroll" tabindex="0" role="group" aria-label="Report"><table>
        <caption class="unseen">What is known of each lane on this recording</caption>
        <thead><tr><th scope="col">Lane</th><th scope="col">claim</th><th scope="col">average</th><th scope="col">random moments</th>
          <th scope="col">split r</th><th scope="col">halves r</th><th scope="col">used</th></tr></thead>
        <tbody>${result.lanes.map(
          (
            lane,
            k,
          ) => html`<tr><th scope="row">${laneBadge(k)}<span class="unseen">${averagingStrategy(lane.strategy).label}</span></th>
            <td>${voltageText(lane.ownNoiseNv / 1000)}</td><td>${voltageText(lane.averageNv / 1000)}</td>
            <td>${voltageText(lane.randomWindowNv / 1000)}</td><td>${decimalText(lane.splitCorrelation, 2)}</td>
            <td>${decimalText(lane.halvesCorrelation, 2)}</td><td>${countText(lane.sweepsUsed)}</td></tr>`,
        )}</tbody></table></div>
      <p class="soft">Tunables are those of the Settings tab, except the limit of B: 2.5 times the middle peak,
        here ±${result.lanes.find(({ strategy }) => strategy === 'threshold-rejection')?.parameters.thresholdUv} µV.</p>
    `;
  }

  private sentence(result: RecordingResult): string {
    const lanes = result.lanes.map(
      (lane, k) =>
        `Lane ${laneLetters[k]}: average ${voltageText(lane.averageNv / 1000)} rms, at random moments ${voltageText(lane.randomWindowNv / 1000)}, split-buffer correlation ${decimalText(lane.splitCorrelation, 2)}.`,
    );
    return `Averages of all lanes. ${lanes.join(' ')}`;
  }

  private labels(result: RecordingResult) {
    const { width, height } = this.picture;
    if (width === 0) return null;
    const { timeMs, lanesUv } = recordingAxes(result, width, height);
    return html`<svg aria-hidden="true">
      ${linearTicks(timeMs.from, timeMs.to, 6).map(
        (ms) =>
          svg`<text x=${timeMs(ms)} y=${height - 4} text-anchor="middle">${tickText(ms)}${ms === 0 ? ' ms' : ''}</text>`,
      )}
      ${lanesUv.map(
        (y, lane) => svg`<text x="30" y=${y(y.to) + 8} text-anchor="end">${tickText(y.to)}</text>
          <text x="30" y=${y(0) + 4} text-anchor="end">${lane === 0 ? 'µV' : '0'}</text>
          <text class="lane" style=${`--lane: var(--lane-${laneLetters[lane].toLowerCase()})`} x="2" y=${y(0) + 4}>${laneLetters[lane]}</text>`,
      )}
    </svg>`;
  }

  /** What the person says where the files do not. */
  private unsaid(): ReadRecordingOptions {
    const rate = this.renderRoot.querySelector<HTMLInputElement>('#rate')?.valueAsNumber;
    const unit = this.renderRoot.querySelector<HTMLSelectElement>('#unit')?.value;
    return { ...(rate !== undefined && rate > 0 ? { sampleRateHz: rate } : {}), ...(unit === 'µV' ? {} : { unit }) };
  }

  private openAgain(): void {
    if (this.files.length > 0) void this.open(this.files);
  }

  private mapStimuli(event: CustomEvent<{ rows: readonly StimulusRow[] }>): void {
    if (this.setup) this.setup = { ...this.setup, rows: event.detail.rows };
  }

  private choose(event: Event): void {
    const { files } = event.target as HTMLInputElement;
    if (files && files.length > 0) void this.open([...files]);
  }

  private submit(event: SubmitEvent): void {
    event.preventDefault();
    const form = new FormData(event.target as HTMLFormElement);
    const number = (name: string) => Number(form.get(name));
    if (!this.setup) return;
    this.setup = {
      ...this.setup,
      channel: String(form.get('channel')),
      windowMs: [number('windowFrom'), number('windowTo')],
      bandHz: [number('bandFrom'), number('bandTo')],
    };
    void this.run();
  }

  private async run(): Promise<void> {
    const { client, setup } = this;
    if (!client || !setup) return;
    this.stage = 'running';
    this.problem = null;
    const { channel, rows, windowMs, bandHz } = setup;
    const { laneSettings, seed } = this.bench;
    try {
      const order = { windowMs, bandHz, lanes: laneSettings, automaticThreshold: true, seed };
      const result = await client.run(channel, stimulusChoices(rows), order);
      if (this.client !== client) return;
      this.result = result;
      this.stage = 'done';
      this.picture.invalidate();
    } catch (error) {
      if (this.client !== client) return;
      this.stage = 'choosing';
      this.problem = (error as Error).message;
    }
  }
}

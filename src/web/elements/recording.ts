import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { responseKind, responseKinds } from '../../core/response/index.ts';
import { voltageUnits } from '../../formats/physicalUnit.ts';
import type { ReadRecordingOptions } from '../../formats/recording.ts';
import type { Bench } from '../model/bench.ts';
import { tickText } from '../model/numberText.ts';
import { type RecordingSetup, recordingSetup, type StimulusRow, stimulusChoices } from '../model/recordingSetup.ts';
import { type RecordingClient, type RecordingContents, recordingClient } from '../worker/recordingClient.ts';
import { BenchController } from './benchController.ts';
import './recordingReport.ts';
import type { RecordingOutcome } from './recordingReport.ts';
import { sharedStyles } from './sharedStyles.ts';
import './stimulusMap.ts';

type Stage = 'empty' | 'reading' | 'choosing' | 'running' | 'done';

/** A recording of the person's own: channels, events, window and band, then the same lanes, and what is known there. */
@customElement('sweep-recording')
export class SweepRecording extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      form { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 0.4rem 0.6rem; margin: 0.5rem 0; }
      label { display: grid; gap: 0.1rem; font-size: 0.9rem; min-width: 0; }
      .unsaid { display: grid; grid-template-columns: minmax(0, 1.6fr) minmax(0, 1fr); gap: 0.4rem 0.6rem; margin-top: 0.3rem; align-items: end; }
      .implant { border: 1px solid var(--rule); border-radius: 3px; padding: 0.3rem 0.5rem; }
      .switch { display: flex; gap: 0.45rem; align-items: center; }
      .switch input { width: 1.05rem; height: 1.05rem; accent-color: var(--ink); }
      .wide { grid-column: 1 / -1; }
      .wide button { width: 100%; }
      input, select { width: 100%; min-width: 0; }
      .pair { display: flex; gap: 0.3rem; align-items: center; }
      ul { margin: 0.2rem 0; padding-left: 1.1rem; font-size: 0.9rem; overflow-wrap: anywhere; }
      .problem { overflow-wrap: anywhere; }
      p { margin: 0.3rem 0; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private stage: Stage = 'empty';
  @state() private problem: string | null = null;
  @state() private contents: RecordingContents | null = null;
  @state() private setup: RecordingSetup | null = null;
  @state() private outcome: RecordingOutcome | null = null;
  @state() private implantOn = false;
  private client: RecordingClient | null = null;
  private files: readonly File[] = [];

  constructor() {
    super();
    new BenchController(this, () => {}, ['view']); // the key of the split buffers holds here, too
  }

  /** Reads files (several are pooled) and runs the lanes on them with a first guess of the settings. */
  async open(files: readonly File[]): Promise<void> {
    this.client?.close();
    this.files = files;
    const client = recordingClient();
    this.client = client;
    this.stage = 'reading';
    this.problem = null;
    this.contents = null;
    this.outcome = null;
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
        ${this.outcome ? html`<sweep-recording-report .outcome=${this.outcome} ?splitShown=${this.bench.splitShown}></sweep-recording-report>` : nothing}
      </section>
    `;
  }

  private form(contents: RecordingContents, setup: RecordingSetup) {
    const [first] = contents.channels;
    const stimulusCount = stimulusChoices(setup.rows).length;
    return html`
      <p><strong>${contents.names.join(', ')}</strong>: ${contents.channels.length} ${contents.channels.length === 1 ? 'channel' : 'channels'}, ${tickText(first.sampleRateHz)} Hz,
        ${first.durationS.toFixed(0)} s${contents.names.length > 1 ? ' in the first' : ''}.</p>
      ${contents.warnings.length > 0 ? html`<ul>${contents.warnings.map((warning) => html`<li>Warning: ${warning}</li>`)}</ul>` : nothing}
      <form @submit=${this.submit}>
        <label class="wide">Channel, or A-B for a difference
          <input name="channel" type="text" list="channels" required .value=${setup.channel} />
          <datalist id="channels">${contents.channels.map(({ label }) => html`<option value=${label}></option>`)}</datalist>
        </label>
        <div class="wide implant">
          <label class="switch"><input type="checkbox" name="implant" .checked=${this.implantOn} @change=${this.switchImplant} />
            Implant a known response</label>
          ${this.implantOn ? this.implantFields(setup) : nothing}
        </div>
        <sweep-stimulus-map class="wide" ?hidden=${this.implantOn} .rows=${setup.rows} .channels=${contents.channels.map(({ label }) => label)}
          @stimuli-set=${this.mapStimuli}></sweep-stimulus-map>
        ${
          this.implantOn
            ? nothing
            : html`${this.pair('window', 'Window, ms', setup.windowMs)} ${this.pair('band', 'Band, Hz', setup.bandHz)}`
        }
        <div class="wide"><button class="primary" ?disabled=${this.stage === 'running' || !(this.implantOn || stimulusCount > 0)}>
          ${this.stage === 'running' ? 'Racing …' : 'Race on this recording'}</button></div>
      </form>
    `;
  }

  private implantFields({ implant }: RecordingSetup) {
    return html`<p class="soft">It comes at moments of its own, into background that is real: so the truth is known, and noise
        and gain can be told.</p>
      <div class="unsaid">
        <label>Response <select name="implantKind">${responseKinds
          .filter(({ id }) => id !== 'none')
          .map(
            ({ id, label }) => html`<option value=${id} ?selected=${id === implant.kind}>${label}</option>`,
          )}</select></label>
        <label>Largest, µV <input name="implantUv" type="number" min="0.001" step="any" required .value=${String(implant.sizeUv)} /></label>
      </div>`;
  }

  private switchImplant(event: Event): void {
    this.implantOn = (event.target as HTMLInputElement).checked;
  }

  private pair(name: string, label: string, [from, to]: readonly [number, number]) {
    return html`<div role="group" aria-label=${label}>
      <label>${label}<span class="pair">
        <input name=${`${name}From`} type="number" step="any" required .value=${String(from)} aria-label=${`${label}, from`} />
        <input name=${`${name}To`} type="number" step="any" required .value=${String(to)} aria-label=${`${label}, to`} />
      </span></label></div>`;
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
      ...(this.implantOn
        ? { implant: { kind: responseKind(String(form.get('implantKind'))).id, sizeUv: number('implantUv') } }
        : {
            windowMs: [number('windowFrom'), number('windowTo')] as [number, number],
            bandHz: [number('bandFrom'), number('bandTo')] as [number, number],
          }),
    };
    void this.run();
  }

  private async run(): Promise<void> {
    const { client, setup } = this;
    if (!client || !setup) return;
    this.stage = 'running';
    this.problem = null;
    try {
      const outcome = this.implantOn ? await this.implant(client, setup) : await this.raceOwn(client, setup);
      if (this.client !== client) return;
      this.outcome = outcome;
      this.stage = 'done';
    } catch (error) {
      if (this.client !== client) return;
      this.stage = 'choosing';
      this.problem = (error as Error).message;
    }
  }

  /** The lanes over the recording's own events. */
  private async raceOwn(client: RecordingClient, setup: RecordingSetup): Promise<RecordingOutcome> {
    const { channel, rows, windowMs, bandHz } = setup;
    const { laneSettings, seed } = this.bench;
    const order = { windowMs, bandHz, lanes: laneSettings, automaticThreshold: true, seed };
    return { kind: 'own', result: await client.run(channel, stimulusChoices(rows), order) };
  }

  /** The lanes over a known response in the recording's background. */
  private async implant(client: RecordingClient, { channel, implant }: RecordingSetup): Promise<RecordingOutcome> {
    const { laneSettings, seed } = this.bench;
    const order = { ...implant, document: {} };
    const result = await client.implant(channel, order, seed, laneSettings);
    return { kind: 'implant', result, responseLabel: responseKind(implant.kind).label };
  }
}

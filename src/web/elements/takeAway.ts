import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { SessionFileOrder } from '../../formats/sessionFile.ts';
import type { Bench } from '../model/bench.ts';
import { type CurveTable, curveCsv, curveTables } from '../model/curveTables.ts';
import { wrapLink } from '../model/linkEnvelope.ts';
import { fileNameOf, labVersion, provenanceLine, STANDING_LINE } from '../model/provenance.ts';
import { benchLink } from '../model/scenarioLink.ts';
import type { TableHost } from '../model/viewTables.ts';
import { type PictureChoice, pictureSvg, picturesShown, svgToPng } from '../stage/pictureFile.ts';
import { taskInWorker } from '../worker/taskClient.ts';
import { saveFile } from './saveFile.ts';
import { sharedStyles } from './sharedStyles.ts';

const recordingFormats: readonly { format: SessionFileOrder['format']; label: string; extension: string }[] = [
  { format: 'edf+', label: 'EDF+ · 16 bits', extension: 'edf' },
  { format: 'bdf+', label: 'BDF+ · 24 bits', extension: 'bdf' },
  { format: 'csv', label: 'CSV', extension: 'csv' },
];

/** What can be taken from the bench: a link, pictures, curves, the recording, a printed page. */
@customElement('sweep-take-away')
export class SweepTakeAway extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      dialog { background: var(--card); color: var(--ink); border: 1px solid var(--ink-faint); border-radius: 4px; padding: 1rem 1.3rem 1.2rem; width: min(34rem, calc(100vw - 1.6rem)); }
      dialog::backdrop { background: rgb(0 0 0 / 40%); }
      .top { display: flex; justify-content: space-between; align-items: baseline; gap: 1rem; }
      section { border-top: 1px solid var(--rule); padding: 0.65rem 0 0.75rem; }
      section:first-of-type { border-top: none; }
      .row { display: flex; flex-wrap: wrap; gap: 0.4rem; align-items: center; margin-top: 0.4rem; }
      .row select { flex: 1 1 12rem; min-width: 0; }
      .row label { display: flex; gap: 0.35rem; align-items: center; }
      output { display: block; overflow-wrap: anywhere; font-size: 0.82rem; color: var(--ink-soft); margin-top: 0.35rem; max-height: 4.2rem; overflow-y: auto; }
      .note { font-size: 0.86rem; color: var(--ink-soft); margin-top: 0.3rem; }
      progress { accent-color: var(--ink); flex: 1 1 8rem; min-width: 0; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private pictures: PictureChoice[] = [];
  @state() private tables: readonly CurveTable[] = curveTables;
  @state() private said = '';
  @state() private problem: string | null = null;
  @state() private link = '';
  @state() private writing: { fraction: number; abort: AbortController } | null = null;

  /** Opens the menu with the pictures that are on the screen now. @param view - what is looked at */
  show(view: Partial<TableHost>): void {
    this.pictures = picturesShown(view.drawings?.());
    this.tables = [...(view.tables?.() ?? []), ...curveTables];
    this.said = '';
    this.problem = null;
    this.link = '';
    void this.updateComplete.then(() => this.renderRoot.querySelector('dialog')?.showModal());
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.writing?.abort.abort();
  }

  override render() {
    const { writing } = this;
    const secret = this.bench.keepsSecrets
      ? html`<p class="note">Not now: it would tell what this lesson keeps out of sight.</p>`
      : null;
    return html`<dialog aria-labelledby="title">
      <div class="top">
        <h2 id="title">Take away</h2>
        <form method="dialog"><button>Close</button></form>
      </div>
      <section aria-label="Link">
        <h3>The whole bench as a link</h3>
        ${
          secret ??
          html`<div class="row"><button class="primary" @click=${this.copyLink}>Copy bench link</button></div>
            ${this.link === '' ? nothing : html`<output>${this.link}</output>`}`
        }
      </section>
      <section aria-label="Picture">
        <h3>A picture</h3>
        <div class="row">
          <select id="picture" aria-label="Picture">${this.pictures.map(({ title }, k) => html`<option value=${k}>${title}</option>`)}</select>
          <button @click=${() => this.attempt(() => this.savePicture('svg'))}>SVG</button>
          <button @click=${() => this.attempt(() => this.savePicture('png'))}>PNG</button>
        </div>
      </section>
      <section aria-label="Curve">
        <h3>A curve as numbers</h3>
        <div class="row">
          <select id="curve" aria-label="Curve">${this.tables.map(({ id, label }) => html`<option value=${id}>${label}</option>`)}</select>
          <button @click=${() => this.attempt(() => this.saveCurve())}>Save CSV</button>
        </div>
      </section>
      <section aria-label="Recording">
        <h3>The recording of the whole session</h3>
        ${
          secret ??
          html`<p class="note">Continuous, behind amplifier and filters, with every stimulus, event and over-range stretch marked.</p>
        <div class="row">
          <select id="format" aria-label="Format">${recordingFormats.map(({ format, label }) => html`<option value=${format}>${label}</option>`)}</select>
          <label><input id="truth" type="checkbox" ?disabled=${this.bench.truthSealed} /> with the truth</label>
          ${
            writing
              ? html`<progress max="1" .value=${writing.fraction} aria-label="Writing the recording"></progress>
                  <button @click=${() => writing.abort.abort()}>Stop</button>`
              : html`<button @click=${() => this.attempt(() => this.saveRecording())}>Save recording</button>`
          }
        </div>`
        }
      </section>
      <section aria-label="Report">
        <h3>A page to print</h3>
        ${secret ?? html`<div class="row"><button @click=${this.print}>Print report</button></div>`}
      </section>
      <p class="note" role="status">${this.said}</p>
      ${this.problem === null ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}
    </dialog>`;
  }

  private async attempt(work: () => Promise<void> | void): Promise<void> {
    this.said = '';
    this.problem = null;
    try {
      await work();
    } catch (error) {
      this.problem = (error as Error).message;
    }
  }

  private async copyLink(): Promise<void> {
    const fragment = await wrapLink(benchLink(this.bench));
    history.replaceState(null, '', `#${fragment}`);
    this.link = location.href;
    try {
      await navigator.clipboard.writeText(location.href);
      this.said = 'Link copied: it brings back this bench, bit for bit.';
    } catch {
      this.said = 'The link is in the address bar, too: it brings back this bench, bit for bit.';
    }
  }

  private async savePicture(kind: 'svg' | 'png'): Promise<void> {
    const choice = this.pictures[Number(this.field('picture').value)];
    if (!choice?.drawing.isConnected)
      throw new Error('This picture is no longer on the page: close and open this menu.');
    const svg = pictureSvg(choice, [`${choice.title} · ${provenanceLine(this.bench)}`, STANDING_LINE]);
    const name = fileNameOf(this.bench, choice.title.toLowerCase(), kind);
    saveFile(name, kind === 'svg' ? new Blob([svg], { type: 'image/svg+xml' }) : await svgToPng(svg));
    this.said = `Saved ${name}.`;
  }

  private saveCurve(): void {
    const table = this.tables.find(({ id }) => id === this.field('curve').value) ?? this.tables[0];
    const name = fileNameOf(this.bench, table.id, 'csv');
    saveFile(name, new Blob([curveCsv(table, this.bench)], { type: 'text/csv' }));
    this.said = `Saved ${name}.`;
  }

  private async saveRecording(): Promise<void> {
    const { bench } = this;
    const chosen = recordingFormats.find(({ format }) => format === this.field('format').value) ?? recordingFormats[0];
    const withTruth = !bench.truthSealed && this.renderRoot.querySelector<HTMLInputElement>('#truth')?.checked === true;
    const abort = new AbortController();
    this.writing = { fraction: 0, abort };
    const order = { format: chosen.format, withTruth, version: labVersion };
    const name = fileNameOf(bench, 'recording', chosen.extension);
    try {
      const { file, clippedCount } = await taskInWorker(
        'recording-file',
        { scenario: bench.scenario, seed: bench.seed, order },
        (fraction) => {
          this.writing = { fraction, abort };
        },
        abort.signal,
      );
      saveFile(name, file);
      const clipped = clippedCount > 0 ? ` ${clippedCount} samples were beyond what 16 bits hold at this range.` : '';
      this.said = `Saved ${name}, ${(file.size / 1e6).toFixed(1)} MB.${clipped}`;
    } catch (error) {
      this.said = abort.signal.aborted
        ? 'Stopped: nothing was saved.'
        : `Nothing was saved: ${(error as Error).message}`;
    } finally {
      this.writing = null;
    }
  }

  private print(): void {
    this.renderRoot.querySelector('dialog')?.close();
    window.print();
  }

  private field(id: string): HTMLSelectElement {
    return this.renderRoot.querySelector(`#${id}`) as HTMLSelectElement;
  }
}

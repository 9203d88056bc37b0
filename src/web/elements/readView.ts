import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Figure } from '../../core/reading/figure.ts';
import type { ReadPeak } from '../../core/reading/readPeaks.ts';
import type { Bench } from '../model/bench.ts';
import type { Overlay } from '../model/desk.ts';
import { cochlearAreas, markNames, marksByRule, type ReadMarks, sideFigures } from '../model/deskReading.ts';
import { laneLetters } from '../model/narration.ts';
import { decimalText, secondsText, tickText, voltageText } from '../model/numberText.ts';
import { deskTables, type TableHost } from '../model/viewTables.ts';
import { deskPanels, drawDesk } from '../stage/deskPicture.ts';
import './dataTables.ts';
import { BenchController } from './benchController.ts';
import { honestStyles, honestText, honestVoltage } from './honestText.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { panelLabels } from './panelLabels.ts';
import { PictureController } from './pictureController.ts';
import './ripple.ts';
import { tablesOn } from '../model/pictureTables.ts';
import { sharedStyles } from './sharedStyles.ts';

/**
 * The reading desk: one average large, a cursor that moves by keyboard, marks by name, then the seal.
 *
 * Over 300 lines, a third of it templates and styles: everything here is about the one desk.
 */
@customElement('sweep-read')
export class SweepRead extends LitElement implements TableHost {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    honestStyles,
    css`
      .head { display: flex; flex-wrap: wrap; gap: 0.3rem 0.8rem; align-items: center; margin-bottom: 0.3rem; }
      .head label { display: flex; gap: 0.35rem; align-items: center; font-size: 0.92rem; }
      .body { display: grid; gap: 0.6rem 1.2rem; grid-template-columns: minmax(0, 1fr); }
      .picture { height: max(15rem, calc(100vh - 26rem - var(--strip, 0rem))); touch-action: none; }
      .picture canvas { cursor: crosshair; }
      .picture .mark { font-size: 12.5px; font-weight: 700; fill: var(--ink); paint-order: stroke; stroke: var(--paper); stroke-width: 3px; }
      .picture .cursor { font-weight: 600; fill: var(--flag); paint-order: stroke; stroke: var(--paper); stroke-width: 3px; }
      .names { display: flex; flex-wrap: wrap; gap: 0.25rem; align-items: center; margin: 0.35rem 0; }
      .names button { padding: 0.05rem 0.55rem; min-height: 1.75rem; min-width: 2.2rem; }
      .row { display: flex; flex-wrap: wrap; gap: 0.35rem; align-items: center; margin: 0.4rem 0; }
      caption { text-align: left; font: italic 400 1rem/1.4 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; }
      table + table { margin-top: 0.6rem; }
      p { margin: 0.3rem 0; font-size: 0.92rem; }
      .seal { border-left: 3px solid var(--truth); padding-left: 0.6rem; margin-top: 0.6rem; }
      td button { min-height: 1.4rem; padding: 0 0.35rem; border: none; background: none; }
      @media (min-width: 60rem) { .body { grid-template-columns: minmax(0, 1.3fr) minmax(0, 1fr); } }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  private readonly picture = new PictureController(this, (ink, w, h, palette) =>
    drawDesk(this.bench, ink, w, h, palette),
  );

  constructor() {
    super();
    new BenchController(this, () => this.picture.invalidate());
  }

  override render() {
    const { bench } = this;
    const { desk } = bench;
    const { reading } = desk;
    const names = markNames(bench.scenario);
    const fixed = desk.committed !== null;
    return html`
      <section aria-label="Reading desk">
        <div class="head">
          <h2>Reading desk</h2>
          <label>Average of
            <select id="lane" ?disabled=${fixed} @change=${this.chooseLane}>
              ${bench.record.lanes.map(({ name }, lane) => html`<option value=${lane} ?selected=${lane === desk.trace.lane}>${laneLetters[lane]} · ${name}</option>`)}
            </select></label>
          <label>Over it
            <select id="overlay" @change=${this.chooseOverlay}>
              <option value="none">nothing</option>
              ${bench.record.lanes.map(({ name }, lane) =>
                lane === desk.trace.lane
                  ? nothing
                  : html`<option value=${lane} ?selected=${desk.overlay.kind === 'lane' && desk.overlay.lane === lane}>${laneLetters[lane]} · ${name}</option>`,
              )}
              ${bench.kept ? html`<option value="kept" ?selected=${desk.overlay.kind === 'kept'}>the kept run</option>` : nothing}
            </select></label>
          <label><input id="subtract" type="checkbox" .checked=${desk.subtracts} ?disabled=${desk.overlay.kind === 'none'}
            @change=${(event: Event) => desk.choose({ subtracts: (event.target as HTMLInputElement).checked })} /> difference</label>
          <button aria-pressed=${bench.splitShown} aria-keyshortcuts="/" @click=${() => bench.showSplit(!bench.splitShown)}>Split buffers</button>
        </div>
        <div class="body">
          <div>
            <div class="picture" role="slider" tabindex="0" aria-label="Cursor on the average" data-title="Average on the reading desk" data-tables="desk marks"
              aria-valuemin=${-bench.scenario.window.preMs} aria-valuemax=${bench.scenario.window.postMs}
              aria-valuenow=${desk.cursorMs.toFixed(3)} aria-valuetext=${this.cursorText()}
              @keydown=${this.onKey}><canvas @pointerdown=${this.point} @pointermove=${this.drag} @dblclick=${() => desk.put()}></canvas>${this.labels(reading)}</div>
            <div class="names"><button id="hold" aria-pressed=${desk.heldMs !== null} aria-keyshortcuts="a" @click=${() => desk.holdCursor()}>Second cursor</button>
              ${this.spanText()}</div>
            <div class="names" role="group" aria-label="Marks">
              <span class="soft">Put at the cursor:</span>
              ${names.map((name) => html`<button aria-pressed=${name === desk.nextMark} ?disabled=${fixed} @click=${() => desk.put(name)}>${name}</button>`)}
              ${names.length === 0 ? html`<span class="soft">A steady-state response has no peaks to mark.</span>` : nothing}
              ${
                names.length > 0 && !fixed
                  ? html`<button title="Puts the marks where the lab's own rule for peaks finds them" @click=${() => desk.putAll(marksByRule(bench.scenario, desk.trace))}>By the rule</button>`
                  : nothing
              }
            </div>
          </div>
          <div>${this.markTables(reading)}${this.seal()}
            ${fixed ? nothing : html`<sweep-ripple .bench=${bench} .lane=${desk.trace.lane} .latencyMs=${desk.cursorMs}></sweep-ripple>`}</div>
        </div>
        <sweep-data-tables .tables=${() => tablesOn(bench, this.tables())}></sweep-data-tables>
      </section>
    `;
  }

  tables() {
    return deskTables(this.bench);
  }

  private markTables(reading: ReadMarks) {
    const { bench } = this;
    const { desk } = bench;
    const errors = desk.committed !== null && !bench.truthSealed;
    const areas = cochlearAreas(bench.scenario, desk.trace)?.figures.slice(1) ?? [];
    const sides = sideFigures(desk.sides.left, desk.sides.right, desk.sideActivityUv);
    const muscle = ['cvemp', 'ovemp'].includes(bench.scenario.response.kind);
    return html`
      <div class="scroll" tabindex="0" role="group" aria-label="Marks and figures">
      <table>
        <caption>Marks ${laneBadge(desk.trace.lane)}</caption>
        <thead><tr><th scope="col">Peak</th><th scope="col">latency</th><th scope="col">size</th>
          ${errors ? html`<th scope="col">off by</th>` : nothing}<th><span class="unseen">Remove</span></th></tr></thead>
        <tbody>
          ${reading.peaks.map((peak) => this.markRow(peak, reading, errors))}
          ${reading.offPeak.map((name) => html`<tr><th scope="row">${name}</th><td colspan=${errors ? 3 : 2} class="problem">no peak here</td><td>${this.removeButton(name)}</td></tr>`)}
          ${reading.peaks.length + reading.offPeak.length === 0 ? html`<tr><td colspan="4" style="text-align: left">Nothing marked yet.</td></tr>` : nothing}
        </tbody>
      </table>
      ${
        reading.figures.length + areas.length + sides.length > 0
          ? html`<table><caption>Figures</caption><tbody>
              ${[...reading.figures, ...areas, ...sides].map((figure) => this.figureRow(figure))}</tbody></table>`
          : nothing
      }</div>
      ${
        muscle
          ? html`<div class="row"><span class="soft">For the asymmetry keep this reading as</span>
              <button aria-pressed=${desk.sides.left !== null} @click=${() => desk.keepSide('left')}>left</button>
              <button aria-pressed=${desk.sides.right !== null} @click=${() => desk.keepSide('right')}>right</button>
              ${Number.isFinite(desk.trace.rectifiedUv) ? html`<span class="soft">activity ${voltageText(desk.trace.rectifiedUv)}</span>` : nothing}</div>`
          : nothing
      }
    `;
  }

  private markRow(peak: ReadPeak, reading: ReadMarks, errors: boolean) {
    const size = Number.isFinite(peak.toTroughUv)
      ? ([peak.toTroughUv, peak.toTroughSdUv] as const)
      : ([peak.amplitudeUv, peak.amplitudeSdUv] as const);
    const error = reading.errors.find(({ name }) => name === peak.name);
    const outside = error !== undefined && Math.abs(error.latencyZ) > 2;
    return html`<tr>
      <th scope="row">${peak.name}${peak.clear ? '' : html` <span class="soft" title="the fall behind it is less than three times its noise">?</span>`}</th>
      <td>${honestText(peak.latencyMs, peak.latencySdMs, 2, 'ms')}</td>
      <td title=${Number.isFinite(peak.toTroughUv) ? 'to the trough that follows' : 'from the baseline'}>${honestVoltage(...size)}</td>
      ${
        errors
          ? html`<td class=${outside ? 'problem' : ''}>${
              error
                ? html`${decimalText(error.latencyErrorMs, 2)} ms, ${Number.isFinite(error.toTroughErrorUv) ? voltageText(error.toTroughErrorUv) : voltageText(error.amplitudeErrorUv)}${outside ? ' !' : ''}`
                : 'not in the truth'
            }</td>`
          : nothing
      }
      <td>${this.removeButton(peak.name)}</td></tr>`;
  }

  private removeButton(name: string) {
    const { desk } = this.bench;
    return desk.committed
      ? nothing
      : html`<button aria-label=${`Remove mark ${name}`} @click=${() => desk.remove(name)}>×</button>`;
  }

  private figureRow({ name, unit, value, sd, low, high, meaningful }: Figure) {
    const decimals = unit === '%' ? 0 : 2;
    const interval =
      unit === 'µV'
        ? `${voltageText(low)} to ${voltageText(high)}`
        : Number.isFinite(low) && Number.isFinite(high)
          ? `${decimalText(low, decimals)} to ${decimalText(high, decimals)}`
          : 'no end';
    const shown = unit === 'µV' ? honestVoltage(value, sd) : honestText(value, sd, decimals, unit);
    return html`<tr><th scope="row">${name}</th>
      <td>${meaningful ? shown : html`<span class="soft" title="its parts are not clear of the noise">means nothing</span>`}</td>
      <td class="soft">${meaningful ? `95 %: ${interval}` : ''}</td></tr>`;
  }

  private seal() {
    const { bench } = this;
    const { desk } = bench;
    const marked = Object.keys(desk.marks).length;
    if (!desk.committed) {
      return html`<div class="seal">
        <p>${
          bench.readsBlind
            ? 'The truth is sealed. Put your marks down; once they are committed they cannot be moved, and the seal breaks.'
            : bench.truthSealed
              ? 'The truth of this patient has been in sight: this is practice. Another seed makes marks that count.'
              : 'The truth is open: this is practice. Seal it, then take another seed, to know what your marks are worth.'
        }</p>
        <div class="row">
          ${bench.truthSealed || bench.sealHeld ? nothing : html`<button @click=${() => bench.sealTruth(true)}>Seal the truth</button>`}
          <button class="primary" id="commit" ?disabled=${marked === 0} @click=${() => desk.commit()}>
            ${bench.truthSealed && !bench.sealHeld ? 'Commit marks and break the seal' : 'Commit marks'}</button>
        </div></div>`;
    }
    const held = bench.truthSealed;
    return html`<div class="seal">
      <p role="status">Committed at ${secondsText(desk.committed.seconds)}${desk.committed.sealed ? '' : ', the truth having been in sight: practice'}.
        ${held ? 'The truth stays sealed.' : this.verdict()}</p>
      <div class="row"><button @click=${() => desk.startAgain()}>Clear the desk</button></div></div>`;
  }

  private verdict(): string {
    const { errors, peaks } = this.bench.desk.reading;
    const lost = peaks.length - errors.length;
    const outside = errors.filter(({ latencyZ }) => Math.abs(latencyZ) > 2).length;
    const largest = errors.reduce((most, { latencyErrorMs }) => Math.max(most, Math.abs(latencyErrorMs)), 0);
    if (errors.length === 0) return 'Nothing that you marked is in the truth.';
    const head = `Largest latency error ${decimalText(largest, 2)} ms`;
    const tail =
      outside === 0 ? ', all within twice their own uncertainty.' : `; ${outside} beyond twice its own uncertainty.`;
    return `${head}${tail}${lost > 0 ? ` ${lost} not in the truth.` : ''}`;
  }

  private spanText() {
    const { span, heldMs } = this.bench.desk;
    if (!span || heldMs === null)
      return html`<span class="soft">holds a cursor here, to measure from it to the other one</span>`;
    return html`<span class="number" id="span">from ${tickText(Number(heldMs.toFixed(2)))} ms: ${decimalText(span.ms, 2)} ms, ${honestVoltage(span.uv, span.sdUv)}</span>`;
  }

  private cursorText(): string {
    const { desk } = this.bench;
    const { averageUv } = desk.trace;
    const { span } = desk;
    const measured = span ? `; ${decimalText(span.ms, 2)} ms and ${voltageText(span.uv)} from the held cursor` : '';
    return `${desk.cursorMs.toFixed(2)} ms, ${voltageText(averageUv[this.sampleAt(desk.cursorMs)] ?? NaN)}${measured}; Enter puts ${desk.nextMark || 'no mark'}`;
  }

  private labels(reading: ReadMarks) {
    const { width, height } = this.picture;
    if (width === 0) return null;
    const { bench } = this;
    const { desk } = bench;
    const { main, gap } = deskPanels(bench, width, height);
    const { timeMs, voltageUv } = main;
    const x = timeMs(desk.cursorMs);
    const uv = desk.trace.averageUv[this.sampleAt(desk.cursorMs)] ?? NaN;
    const atEnd = x > width - 130;
    return html`<svg aria-hidden="true">${panelLabels(main, gap === null)}${gap ? panelLabels(gap, true) : nothing}
      ${reading.peaks.map(
        ({ name, latencyMs }) =>
          svg`<text class="mark" x=${timeMs(latencyMs)} y=${voltageUv(voltageUv.to) - 2} text-anchor="middle">${name}</text>`,
      )}
      <text class="cursor" x=${x + (atEnd ? -6 : 6)} y=${voltageUv(voltageUv.from) - 6} text-anchor=${atEnd ? 'end' : 'start'}>${tickText(Number(desk.cursorMs.toFixed(2)))} ms · ${voltageText(uv)}</text>
      ${gap ? svg`<text x=${width - 8} y=${gap.voltageUv(gap.voltageUv.to) + 10} text-anchor="end">difference, band ±2 of both claims</text>` : nothing}
    </svg>`;
  }

  private sampleAt(ms: number): number {
    const { scenario, record } = this.bench;
    return Math.round(record.preSampleCount + (ms * scenario.converter.sampleRateHz) / 1000);
  }

  private onKey(event: KeyboardEvent): void {
    const { desk, scenario } = this.bench;
    const stepMs = (1000 / scenario.converter.sampleRateHz) * (event.shiftKey ? 10 : 1);
    const names = markNames(scenario);
    const turn = (by: number) =>
      desk.choose({ chosen: names[(names.indexOf(desk.nextMark) + by + names.length) % names.length] });
    const actions: Record<string, () => void> = {
      ArrowLeft: () => desk.moveCursor(desk.cursorMs - stepMs),
      ArrowRight: () => desk.moveCursor(desk.cursorMs + stepMs),
      PageDown: () => desk.moveCursor(desk.cursorMs - 1),
      PageUp: () => desk.moveCursor(desk.cursorMs + 1),
      Home: () => desk.moveCursor(-scenario.window.preMs),
      End: () => desk.moveCursor(scenario.window.postMs),
      ArrowUp: () => turn(-1),
      ArrowDown: () => turn(1),
      a: () => desk.holdCursor(),
      Enter: () => desk.put(),
      Delete: () => desk.remove(desk.nextMark),
    };
    const action = actions[event.key];
    if (!action || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    event.stopPropagation(); // arrows on the desk move the cursor, not the sweep looked at
    action();
  }

  private point(event: PointerEvent): void {
    const { timeMs } = deskPanels(this.bench, this.picture.width, this.picture.height).main;
    const share = (event.offsetX - timeMs(timeMs.from)) / (timeMs(timeMs.to) - timeMs(timeMs.from));
    this.bench.desk.moveCursor(timeMs.from + share * (timeMs.to - timeMs.from));
  }

  private drag(event: PointerEvent): void {
    if (event.buttons === 1) this.point(event);
  }

  private chooseLane(event: Event): void {
    this.bench.desk.choose({ lane: Number((event.target as HTMLSelectElement).value), overlay: { kind: 'none' } });
  }

  private chooseOverlay(event: Event): void {
    const { value } = event.target as HTMLSelectElement;
    const overlay: Overlay =
      value === 'none' || value === 'kept' ? { kind: value } : { kind: 'lane', lane: Number(value) };
    this.bench.desk.choose({ overlay });
  }
}

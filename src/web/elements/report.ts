import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { unsafeSVG } from 'lit/directives/unsafe-svg.js';
import { averagingStrategy } from '../../core/averaging/index.ts';
import { GAIN_BOUNDS } from '../../core/quality/amplitudeGain.ts';
import type { PeakError } from '../../core/reading/peakErrors.ts';
import { responseKind } from '../../core/response/index.ts';
import { cautionsFor } from '../../core/scenario/cautions.ts';
import type { QuantitySchema } from '../../core/scenario/schema.ts';
import type { Bench } from '../model/bench.ts';
import { tunableLabel } from '../model/controls.ts';
import { lanesChosen } from '../model/laneChoice.ts';
import { wrapLink } from '../model/linkEnvelope.ts';
import { averageSentence, laneLetters, raceSentence } from '../model/narration.ts';
import { countText, decimalText, secondsText, tickText, voltageText } from '../model/numberText.ts';
import { provenanceLine, STANDING_LINE } from '../model/provenance.ts';
import { benchLink, changedSettings } from '../model/scenarioLink.ts';
import { drawAverage, TIME_AXIS } from '../stage/averagePicture.ts';
import type { Ink } from '../stage/ink.ts';
import { paletteOf } from '../stage/palette.ts';
import { drawRace, judgedBy } from '../stage/racePicture.ts';
import { VectorInk } from '../stage/vectorInk.ts';
import { honestStyles, honestText, honestVoltage } from './honestText.ts';
import { averageLabels } from './lane.ts';
import { raceLabelStyles, raceLabels, type SweepRace } from './race.ts';
import { sharedStyles } from './sharedStyles.ts';

const MAX_CHANGES = 14; // more would push the page over its end; the link has them all
const MAX_EVENTS = 8;
const PICTURE_WIDTH = 335; // px of the drawing, as wide as half a sheet
const AVERAGES_HEIGHT = 216; // px that all averages share, so that six of them fit the sheet as four do
const AVERAGE_HEIGHTS = [36, 90] as const; // px, least and most of one
const RACE_HEIGHTS = [200, 300] as const; // px

/**
 * The page that is printed: one sheet with the patient, the pictures, the numbers and the way to make it again.
 *
 * It is made when the browser is about to print, in the colours of paper whatever the theme, and shown nowhere else.
 */
@customElement('sweep-report')
export class SweepReport extends LitElement {
  static override styles = [
    sharedStyles,
    honestStyles,
    raceLabelStyles,
    css`
      :host { color: var(--ink); font-size: 9.2pt; line-height: 1.3; }
      header { display: flex; justify-content: space-between; align-items: baseline; gap: 1rem; border-bottom: 1.2pt solid var(--ink); padding-bottom: 3pt; }
      h1 { margin: 0; font: italic 400 18pt/1 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; }
      h2 { font-size: 11.5pt; margin: 7pt 0 2pt; break-after: avoid; }
      .story { margin: 4pt 0; }
      .settings { display: grid; grid-template-columns: repeat(4, 1fr); gap: 1pt 10pt; margin: 0; }
      .settings div { display: flex; justify-content: space-between; gap: 6pt; border-bottom: 0.5pt solid var(--rule); }
      dt { color: var(--ink-soft); } dd { margin: 0; font-weight: 600; font-variant-numeric: tabular-nums; white-space: nowrap; }
      .pictures { display: grid; grid-template-columns: 1fr 1fr; gap: 4pt 12pt; align-items: start; }
      .averages { display: grid; gap: 1pt; }
      .average { display: grid; grid-template-columns: 11pt 1fr; align-items: center; }
      .average b { font-size: 9pt; }
      .pictures svg { display: block; overflow: visible; width: 100%; height: auto; }
      .pictures text { font-size: 10.5px; fill: var(--ink-soft); font-variant-numeric: tabular-nums; }
      table { font-size: 8.8pt; }
      th, td { padding: 1.5pt 4pt; }
      td { white-space: nowrap; }
      .marks { width: auto; }
      .marks thead th:nth-child(n), .marks td { padding-right: 14pt; text-align: left; }
      .tuned { display: block; font-weight: 400; font-size: 8pt; color: var(--ink-soft); }
      .link { font-size: 6pt; line-height: 1.2; }
      .dense { font-size: 8.4pt; line-height: 1.2; }
      .dense h2 { font-size: 10.5pt; margin-top: 4pt; }
      .dense table { font-size: 8.2pt; }
      .dense th, .dense td { padding-block: 0.8pt; }
      .dense .tuned { font-size: 7.2pt; }
      .dense ul { font-size: 7.8pt; }
      ul { margin: 0; padding-left: 12pt; columns: 2; column-gap: 14pt; font-size: 8.6pt; overflow-wrap: anywhere; }
      footer { margin-top: 8pt; border-top: 0.5pt solid var(--ink); padding-top: 3pt; font-size: 8pt; color: var(--ink-soft); overflow-wrap: anywhere; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  private link = '';
  private isAsked = false;
  private end: (() => void) | null = null;

  override connectedCallback(): void {
    super.connectedCallback();
    const renewLink = async () => {
      const fragment = await wrapLink(benchLink(this.bench)); // ready before the browser asks: it does not wait
      this.link = `${location.href.replace(/#.*/, '')}#${fragment}`;
    };
    void renewLink();
    this.end = this.bench.subscribe((change) => {
      if (change === 'settings' || change === 'view') void renewLink();
    });
    addEventListener('beforeprint', this.fill);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.end?.();
    removeEventListener('beforeprint', this.fill);
  }

  /** Makes the page at once: the browser prints what it finds when the event is over. */
  private readonly fill = (): void => {
    this.isAsked = true;
    this.requestUpdate();
    this.performUpdate();
  };

  override render() {
    const { bench } = this;
    const { scenario, record, truthSealed, keepsSecrets } = bench;
    if (!this.isAsked) return nothing;
    const { stimulus, filter, amplifier, session } = scenario;
    const facts: [string, string][] = [
      ['response', responseKind(scenario.response.kind).label],
      ['level', `${tickText(stimulus.levelDbNhl)} dB nHL`],
      ['rate', `${tickText(stimulus.ratePerS)}/s`],
      ['polarity', stimulus.polarity],
      ['band', `${tickText(filter.highPassHz)}–${tickText(filter.lowPassHz)} Hz`],
      ['range', `±${tickText(amplifier.rangeUv)} µV`],
      ['target', `${tickText(session.targetNv)} nV`],
      ['sweeps', `${countText(record.offeredCount)} in ${secondsText(record.seconds)}`],
    ];
    return html`<div class=${record.lanes.length > 4 ? 'dense' : ''}>
      <header><h1>Sweepwise</h1><span>${truthSealed ? 'truth sealed' : 'truth shown'}</span></header>
      <h2>${scenario.title || scenario.id}</h2>
      <p class="story">${scenario.story || 'A scenario of its own.'}</p>
      ${keepsSecrets ? html`<p>This lesson keeps settings of this patient out of sight.</p>` : nothing}
      <dl class="settings" ?hidden=${keepsSecrets}>${keepsSecrets ? nothing : facts.map(([name, value]) => html`<div><dt>${name}</dt><dd>${value}</dd></div>`)}</dl>
      ${this.pictures()}
      <h2>Lanes</h2>
      ${this.lanes()}
      ${this.marks()}
      ${this.list(
        'Changed from the patient as first met',
        keepsSecrets ? [] : changedSettings(scenario).filter((change) => !/^(events|lanes)=/.test(change)), // told in words
        MAX_CHANGES,
      )}
      ${this.list(
        'What happened',
        (keepsSecrets ? [] : scenario.events).map(({ atS, note, action }) => {
          return `${secondsText(atS)}: ${note || (action === 'none' ? 'a change' : action)}`;
        }),
        MAX_EVENTS,
      )}
      ${this.list('Cautions', cautionsFor(scenario), MAX_EVENTS)}
      <footer>
        <p>${STANDING_LINE} The lab makes no sound.</p>
        <p>${provenanceLine(bench)}</p>
        ${keepsSecrets ? nothing : html`<p class="link">${this.link}</p>`}
      </footer>
    </div>`;
  }

  /** Drawn for the sheet, not copied from the screen, where another view may be in front. */
  private pictures() {
    const { bench } = this;
    const palette = paletteOf(this);
    const { length } = bench.record.lanes;
    const height = within(AVERAGE_HEIGHTS, Math.floor(AVERAGES_HEIGHT / length));
    const raceHeight = within(RACE_HEIGHTS, height * length + TIME_AXIS);
    const race = document.querySelector('sweep-lab')?.shadowRoot?.querySelector<SweepRace>('sweep-race');
    const expected = race?.expectedResult ?? null;
    return html`
      <h2>Averages, each within its own noise claim, and the race</h2>
      <div class="pictures">
        <div class="averages">${bench.record.lanes.map((_, lane) => {
          const isLast = lane === length - 1;
          const whole = height + (isLast ? TIME_AXIS : 0);
          return html`<div class="average"><b>${laneLetters[lane]}</b>${drawing(
            averageSentence(bench, lane),
            whole,
            (ink) => drawAverage(bench, lane, isLast, ink, PICTURE_WIDTH, whole, palette),
            averageLabels(bench, PICTURE_WIDTH, whole, isLast),
          )}</div>`;
        })}</div>
        <div>${drawing(
          raceSentence(bench),
          raceHeight,
          (ink) => drawRace(bench, expected, ink, PICTURE_WIDTH, raceHeight, palette),
          raceLabels(bench, PICTURE_WIDTH, raceHeight),
        )}</div>
      </div>`;
  }

  private lanes() {
    const { bench } = this;
    const { record, truthSealed } = bench;
    return html`<table>
      <thead><tr><th>Lane</th><th>${truthSealed ? 'claims target at' : 'target at'}</th><th>own claim</th>
        ${truthSealed ? nothing : html`<th>residual noise</th><th>gain</th>`}<th>split r</th><th>used</th><th>worth</th></tr></thead>
      <tbody>${record.lanes.map(({ name, reading }, lane) => {
        const arrivalS = record.arrivalS(lane, judgedBy(bench));
        const { amplitudeGain: gain } = reading;
        const isFair = gain >= GAIN_BOUNDS[0] && gain <= GAIN_BOUNDS[1];
        return html`<tr><th>${laneLetters[lane]} ${name}${this.tuned(lane)}</th>
          <td>${arrivalS === null ? 'not yet' : secondsText(arrivalS)}</td><td>${voltageText(reading.ownNoiseUv)}</td>
          ${
            truthSealed
              ? nothing
              : html`<td>${voltageText(reading.residualNoiseUv)}</td>
                  <td>${decimalText(gain, 2)}${isFair || !Number.isFinite(gain) ? '' : ' (out of bounds)'}</td>`
          }
          <td>${decimalText(reading.splitCorrelation, 2)}</td>
          <td>${countText(reading.usedCount)} of ${countText(record.offeredCount)}</td><td>${countText(reading.effectiveCount)}</td></tr>`;
      })}</tbody></table>`;
  }

  /** What is unusual about a lane, in words. */
  private tuned(lane: number) {
    const { bench } = this;
    const { strategy: id, name, parameters } = bench.record.lanes[lane];
    const strategy = averagingStrategy(id);
    const schemas = Object.entries(strategy.parameters.properties as Record<string, QuantitySchema>);
    const words = schemas
      .filter(([key, schema]) => {
        return parameters[key] !== schema.default && !bench.isHidden(`averaging.${strategy.scenarioKey}.${key}`);
      })
      .map(([key, { unit }]) => `${tunableLabel(key).toLowerCase()} ${tickText(parameters[key])} ${unit}`.trim());
    if (lanesChosen(bench.record.scenario)[lane]?.flagAware) words.unshift('flag-aware');
    if (name !== strategy.label) words.unshift(strategy.label);
    return words.length === 0 ? nothing : html` <span class="tuned">${words.join(', ')}</span>`;
  }

  /** Marks that can no longer be moved, with what they are worth where the truth is open. */
  private marks() {
    const { desk, truthSealed } = this.bench;
    if (!desk.committed) return nothing;
    const { trace, seconds, sealed } = desk.committed;
    const { peaks, offPeak, errors } = desk.reading;
    return html`<h2>Marks on lane ${laneLetters[trace.lane]} ${trace.name}, committed at ${secondsText(seconds)}${sealed ? '' : ', the truth having been in sight: practice'}</h2>
      <table class="marks">
        <thead><tr><th>Peak</th>${peaks.map(({ name, clear }) => html`<th>${name}${clear ? '' : ' (unclear)'}</th>`)}</tr></thead>
        <tbody>
          <tr><th>latency</th>${peaks.map((peak) => html`<td>${honestText(peak.latencyMs, peak.latencySdMs, 2, 'ms')}</td>`)}</tr>
          <tr><th>size</th>${peaks.map((peak) => {
            const isToTrough = Number.isFinite(peak.toTroughUv);
            return html`<td>${isToTrough ? honestVoltage(peak.toTroughUv, peak.toTroughSdUv) : honestVoltage(peak.amplitudeUv, peak.amplitudeSdUv)}</td>`;
          })}</tr>
          ${truthSealed ? nothing : html`<tr><th>off by</th>${peaks.map((peak) => html`<td>${errorText(errors.find(({ name }) => name === peak.name))}</td>`)}</tr>`}
        </tbody>
      </table>
      ${offPeak.length > 0 ? html`<p>No peak at: ${offPeak.join(', ')}</p>` : nothing}`;
  }

  private list(title: string, entries: readonly string[], most: number) {
    if (entries.length === 0) return nothing;
    const rest = entries.length - most;
    return html`<h2>${title}</h2>
      <ul>${entries.slice(0, most).map((entry) => html`<li>${entry}</li>`)}
        ${rest > 0 ? html`<li>and ${rest} more, which the link has</li>` : nothing}</ul>`;
  }
}

/** A picture for the sheet: its drawing, and its labels over it. */
function drawing(sentence: string, height: number, draw: (ink: Ink) => void, labels: unknown) {
  const ink = new VectorInk();
  draw(ink);
  return html`<svg role="img" aria-label=${sentence} viewBox="0 0 ${PICTURE_WIDTH} ${height}">${unsafeSVG(ink.markup())}${labels}</svg>`;
}

function within([least, most]: readonly [number, number], value: number): number {
  return Math.min(most, Math.max(least, value));
}

function errorText(error: PeakError | undefined): string {
  if (!error) return 'not in the truth';
  const { latencyErrorMs, toTroughErrorUv, amplitudeErrorUv } = error;
  return `${decimalText(latencyErrorMs, 2)} ms, ${voltageText(Number.isFinite(toTroughErrorUv) ? toTroughErrorUv : amplitudeErrorUv)}`;
}

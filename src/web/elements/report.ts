import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { unsafeHTML } from 'lit/directives/unsafe-html.js';
import { averagingStrategy } from '../../core/averaging/index.ts';
import { GAIN_BOUNDS } from '../../core/quality/amplitudeGain.ts';
import { responseKind } from '../../core/response/index.ts';
import { cautionsFor } from '../../core/scenario/cautions.ts';
import type { Bench } from '../model/bench.ts';
import { wrapLink } from '../model/linkEnvelope.ts';
import { laneLetters } from '../model/narration.ts';
import { countText, decimalText, secondsText, tickText, voltageText } from '../model/numberText.ts';
import { provenanceLine, STANDING_LINE } from '../model/provenance.ts';
import { benchLink, changedSettings } from '../model/scenarioLink.ts';
import { pictureSvg, picturesShown } from '../stage/pictureFile.ts';
import { judgedBy } from '../stage/racePicture.ts';
import { sharedStyles } from './sharedStyles.ts';

const MAX_CHANGES = 14; // more would push the page over its end; the link has them all
const MAX_EVENTS = 8;

/**
 * The page that is printed: one sheet with the patient, the pictures, the numbers and the way to make it again.
 *
 * It is made when the browser is about to print, in the colours of paper whatever the theme, and shown nowhere else.
 */
@customElement('sweep-report')
export class SweepReport extends LitElement {
  static override styles = [
    sharedStyles,
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
      .pictures svg { display: block; width: 100%; height: auto; max-height: 9.5cm; }
      .averages svg { max-height: 3.6cm; }
      table { font-size: 8.8pt; }
      th, td { padding: 1.5pt 4pt; }
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
    return html`
      <header><h1>Sweepwise</h1><span>${truthSealed ? 'truth sealed' : 'truth shown'}</span></header>
      <h2>${scenario.title || scenario.id}</h2>
      <p class="story">${scenario.story || 'A scenario of its own.'}</p>
      ${keepsSecrets ? html`<p>This lesson keeps settings of this patient out of sight.</p>` : nothing}
      <dl class="settings" ?hidden=${keepsSecrets}>${keepsSecrets ? nothing : facts.map(([name, value]) => html`<div><dt>${name}</dt><dd>${value}</dd></div>`)}</dl>
      ${this.pictures()}
      <h2>Lanes</h2>
      ${this.lanes()}
      ${this.list(
        'Changed from the patient as first met',
        keepsSecrets ? [] : changedSettings(scenario).filter((change) => !change.startsWith('events=')),
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
        ${keepsSecrets ? nothing : html`<p>${this.link}</p>`}
      </footer>
    `;
  }

  private pictures() {
    const all = inPaperColours(() =>
      picturesShown().map((picture) => {
        const host = (picture.drawing.getRootNode() as ShadowRoot).host?.localName;
        const isAverage = host === 'sweep-lane' && picture.drawing.closest('.average') !== null;
        const kind = isAverage ? 'average' : host === 'sweep-race' ? 'race' : null;
        return { kind, svg: kind === null ? '' : pictureSvg(picture, [], '#ffffff') };
      }),
    );
    const averages = all.filter(({ kind }) => kind === 'average');
    return html`
      <h2>Averages, each within its own noise claim, and the race</h2>
      <div class="pictures">
        <div class="averages">${averages.map(
          ({ svg }, lane) => html`<div class="average"><b>${laneLetters[lane]}</b>${unsafeHTML(svg)}</div>`,
        )}</div>
        <div>${all.filter(({ kind }) => kind === 'race').map(({ svg }) => unsafeHTML(svg))}</div>
      </div>`;
  }

  private lanes() {
    const { bench } = this;
    const { record, truthSealed } = bench;
    return html`<table>
      <thead><tr><th>Lane</th><th>${truthSealed ? 'claims target at' : 'target at'}</th><th>own claim</th>
        ${truthSealed ? nothing : html`<th>residual noise</th><th>gain</th>`}<th>split r</th><th>used</th><th>worth</th></tr></thead>
      <tbody>${record.lanes.map(({ strategy, reading }, lane) => {
        const arrivalS = record.arrivalS(lane, judgedBy(bench));
        const { amplitudeGain: gain } = reading;
        const isFair = gain >= GAIN_BOUNDS[0] && gain <= GAIN_BOUNDS[1];
        return html`<tr><th>${laneLetters[lane]} ${averagingStrategy(strategy).label}</th>
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

  private list(title: string, entries: readonly string[], most: number) {
    if (entries.length === 0) return nothing;
    const rest = entries.length - most;
    return html`<h2>${title}</h2>
      <ul>${entries.slice(0, most).map((entry) => html`<li>${entry}</li>`)}
        ${rest > 0 ? html`<li>and ${rest} more, which the link has</li>` : nothing}</ul>`;
  }
}

/** Runs something while the page has its light colours; nothing is painted in between. */
function inPaperColours<T>(work: () => T): T {
  const { dataset } = document.documentElement;
  const before = dataset.theme;
  dataset.theme = 'light';
  try {
    return work();
  } finally {
    dataset.theme = before;
  }
}

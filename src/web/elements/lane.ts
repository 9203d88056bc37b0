import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { averagingStrategy } from '../../core/averaging/index.ts';
import type { Bench } from '../model/bench.ts';
import { averageSentence, ribbonSentence } from '../model/narration.ts';
import { anchorAt, countText, decimalText, tickText, voltageText } from '../model/numberText.ts';
import { sessionEndS, sweepFrom } from '../model/sessionClock.ts';
import { averageAxes, drawAverage, TIME_AXIS } from '../stage/averagePicture.ts';
import { isDisqualified } from '../stage/racePicture.ts';
import { drawRibbon, ribbonAxes, sweepAt } from '../stage/ribbonPicture.ts';
import { linearTicks } from '../stage/scale.ts';
import { BenchController } from './benchController.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';

/** One lane: its average within its own noise band, its weight ribbon, its numbers. */
@customElement('sweep-lane')
export class SweepLane extends LitElement {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    css`
      .head { display: flex; flex-wrap: wrap; align-items: center; gap: 0 0.6rem; }
      .head h3 { white-space: nowrap; font-style: normal; font-family: inherit; font-weight: 600; font-size: 0.95rem; }
      section { container-type: inline-size; height: 100%; display: flex; flex-direction: column; }
      dl { display: flex; flex-wrap: wrap; margin: 0; gap: 0 0.8rem; font-size: 0.86rem; }
      @container (max-width: 35rem) { dl { gap: 0 0.5rem; font-size: 0.8rem; } dl div { gap: 0.22rem; } }
      dl div { display: flex; gap: 0.3rem; white-space: nowrap; }
      dt { color: var(--ink-soft); }
      dd { margin: 0; font-weight: 600; font-variant-numeric: tabular-nums; }
      .pictures { flex: 1; min-height: 2.9rem; display: grid; grid-template: minmax(0, 1fr) / minmax(0, 1fr) minmax(0, 1.15fr); gap: 0.7rem; }
      .picture { height: var(--lane-height, 5.4rem); }
      :host([last]) .picture { height: calc(var(--lane-height, 5.4rem) + ${TIME_AXIS}px); }
      .ribbon canvas { cursor: pointer; }
      .average canvas { cursor: help; }
      @media (max-width: 40rem) { .pictures { grid-template: auto auto / minmax(0, 1fr); } .ribbon.picture { height: 4rem; } }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @property({ type: Number }) lane = 0;
  /** The last lane carries the axes of all. */
  @property({ type: Boolean, reflect: true }) last = false;

  private readonly average = new PictureController(
    this,
    (ink, w, h, palette) => drawAverage(this.bench, this.lane, this.last, ink, w, h, palette),
    '.average canvas',
  );
  private readonly ribbon = new PictureController(
    this,
    (ink, w, h, palette) => drawRibbon(this.bench, this.lane, this.foot, ink, w, h, palette),
    '.ribbon canvas',
  );

  constructor() {
    super();
    new BenchController(this, () => {
      this.average.invalidate();
      this.ribbon.invalidate();
    });
  }

  /** A run with fewer lanes may be on the bench before the lab has taken this one away. */
  override shouldUpdate(): boolean {
    return this.lane < this.bench.record.lanes.length;
  }

  private get foot(): number {
    return this.last ? TIME_AXIS : 0;
  }

  override render() {
    const { bench, lane } = this;
    const { reading, strategy: id, name } = bench.record.lanes[lane];
    const strategy = averagingStrategy(id);
    const sealed = bench.truthSealed;
    const hollow = isDisqualified(bench, lane, null);
    return html`
      <section aria-label=${`Lane ${name}`}>
        <div class="head">
          ${laneBadge(lane)}
          <h3 title=${strategy.summary}>${name}</h3>
          <dl>
            <div title="residual noise as the strategy itself estimates it"><dt>claims</dt><dd id="claim">${voltageText(reading.ownNoiseUv)}</dd></div>
            ${
              sealed
                ? nothing
                : html`<div title="residual noise against the known truth, rms over the shaded stretch"><dt>true</dt><dd id="true">${voltageText(reading.residualNoiseUv)}</dd></div>
                    <div title=${`size of the response in the average over its true size${hollow ? '; ◇ outside 0.95 to 1.05 in this run' : ''}`}><dt>gain</dt><dd class=${hollow ? 'problem' : ''}>${decimalText(reading.amplitudeGain, 2)}${hollow ? ' ◇' : ''}</dd></div>`
            }
            <div title="correlation of the averages of two halves of the sweeps"><dt>split r</dt><dd>${decimalText(reading.splitCorrelation, 2)}</dd></div>
            <div title="sweeps with a weight above nothing, of those offered">
              <dt>used</dt>
              <dd>${countText(reading.usedCount)}/${countText(bench.record.offeredCount)}</dd>
            </div>
            <div title="how many equally weighted sweeps it is worth: (Σw)²/Σw²"><dt>worth</dt><dd>${countText(reading.effectiveCount)}</dd></div>
          </dl>
        </div>
        <div class="pictures">
          <div class="picture average" data-tables="averages" role="img" aria-label=${averageSentence(bench, lane)}>
            <canvas @click=${this.ask}></canvas>${averageLabels(this.bench, this.average.width, this.average.height, this.last)}
          </div>
          <div class="picture ribbon" data-tables="weights" role="img" aria-label=${ribbonSentence(bench, lane)}>
            <canvas @pointerdown=${this.pick} @pointermove=${this.drag}></canvas>${this.ribbonLabels()}
          </div>
        </div>
      </section>
    `;
  }

  private ribbonLabels() {
    const { width, height } = this.ribbon;
    if (width === 0) return null;
    const { sweep, weight } = ribbonAxes(this.bench, width, height, this.foot);
    const { scenario } = this.bench.record;
    return html`<svg aria-hidden="true">
      ${this.lane === 0 ? svg`<text x=${width - 5} y="12" text-anchor="end">weight over mean weight, log scale</text>` : nothing}
      ${(height < 76 ? [1, 1 / 32] : [4, 1, 1 / 4, 1 / 32]).map(
        (w) =>
          svg`<text x="25" y=${Math.max(10, weight(w) + 3.5)} text-anchor="end">${w >= 1 ? `×${w}` : `×1⁄${1 / w}`}</text>`,
      )}
      ${
        this.last
          ? linearTicks(0, sessionEndS(scenario), 5).map(
              (s) =>
                svg`<text x=${sweep(sweepFrom(scenario, s))} y=${height - 3} text-anchor=${anchorAt(sweep(sweepFrom(scenario, s)), width)}>${tickText(s)}${s === 0 ? ' s' : ''}</text>`,
            )
          : nothing
      }
    </svg>`;
  }

  /** A click into the average asks who made the ripple there; its list stands beside the race. */
  private ask(event: MouseEvent): void {
    const { timeMs } = averageAxes(this.bench, this.average.width, this.average.height, this.last);
    const left = timeMs(timeMs.from);
    const share = (event.offsetX - left) / (timeMs(timeMs.to) - left);
    const latencyMs = timeMs.from + share * (timeMs.to - timeMs.from);
    this.bench.askRipple({ lane: this.lane, latencyMs });
  }

  private pick(event: PointerEvent): void {
    this.bench.selectSweep(sweepAt(this.bench, event.offsetX, this.ribbon.width));
  }

  private drag(event: PointerEvent): void {
    if (event.buttons === 1) this.pick(event);
  }
}

/** Numbers along an average of that size. @param withTimeAxis - as drawn */
export function averageLabels(bench: Bench, width: number, height: number, withTimeAxis: boolean) {
  if (width === 0) return null;
  const { timeMs, voltageUv } = averageAxes(bench, width, height, withTimeAxis);
  const nano = voltageUv.to < 1;
  const label = (uv: number) => (uv === 0 ? '0' : `${tickText(nano ? 1000 * uv : uv)}`);
  return html`<svg aria-hidden="true">
    ${[voltageUv.to, 0, voltageUv.from].map(
      (uv) => svg`<text x="36" y=${Math.max(10, voltageUv(uv) + 3.5)} text-anchor="end">${label(uv)}</text>`,
    )}
    <text x="44" y="12">${nano ? 'nV' : 'µV'}</text>
    ${
      withTimeAxis
        ? linearTicks(timeMs.from, timeMs.to, 5).map(
            (ms) =>
              svg`<text x=${timeMs(ms)} y=${height - 3} text-anchor="middle">${tickText(ms)}${ms === 0 ? ' ms' : ''}</text>`,
          )
        : nothing
    }
  </svg>`;
}

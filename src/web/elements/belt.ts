import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Bench } from '../model/bench.ts';
import { eventLabel } from '../model/handsOn.ts';
import { beltSentence, sweepSentence } from '../model/narration.ts';
import { countText, tickText } from '../model/numberText.ts';
import { beltLayout, beltScaleUv, drawBelt } from '../stage/beltPicture.ts';
import { linearTicks } from '../stage/scale.ts';
import { drawSweep, sweepAxes, sweepRangeUv } from '../stage/sweepPicture.ts';
import './dataTables.ts';
import { beltTable, benchTables, tablesOn } from '../model/pictureTables.ts';
import { BenchController } from './benchController.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';

/** The sweep belt: the latest raw sweeps as thumbnails, each with what the lanes did, and one sweep large. */
@customElement('sweep-belt')
export class SweepBelt extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      :host { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 17rem); gap: 0.8rem; }
      .picture { height: 6.2rem; }
      .belt canvas { cursor: pointer; }
      .belt .event { fill: var(--truth); font-weight: 600; paint-order: stroke; stroke: var(--paper); stroke-width: 3px; }
      .belt { border-block: 1px solid var(--rule); }
      .head { display: flex; gap: 0.6rem; align-items: baseline; flex-wrap: wrap; min-height: 1.4rem; }
      .head .soft { font-size: 0.86rem; }
      .head sweep-data-tables { margin: 0; max-width: 100%; --table-height: 12rem; }
      @media (max-width: 56rem) { :host { grid-template-columns: minmax(0, 1fr); } }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;

  private readonly belt = new PictureController(
    this,
    (ink, w, h, palette) => drawBelt(this.bench, ink, w, h, palette),
    '.belt canvas',
  );
  private readonly single = new PictureController(
    this,
    (ink, w, h, palette) => drawSweep(this.bench, this.rangeUv, ink, w, h, palette),
    '.single canvas',
  );

  private rangeUv = 1;

  constructor() {
    super();
    new BenchController(this, () => {
      this.belt.invalidate();
      this.single.invalidate();
    });
  }

  override render() {
    const { bench } = this;
    this.rangeUv = sweepRangeUv(bench); // picture and labels change range together
    const layout = beltLayout(bench.record, bench.selectedSweep, this.belt.width || 1);
    const scaleUv = beltScaleUv(bench.record, layout);
    const following = bench.selectedSweep === null;
    return html`
      <section aria-label="Sweep belt">
        <div class="head">
          <h2>Sweep belt</h2>
          <span class="soft">raw sweeps as they come, ±${tickText(scaleUv)} µV; beneath, what each lane did with it</span>
          <sweep-data-tables label="as tables" .tables=${() => [beltTable(bench, layout.firstSweep, layout.cellCount), ...tablesOn(bench, benchTables('sweep'))]}></sweep-data-tables>
        </div>
        <div class="picture belt" data-tables="belt" role="img" aria-label=${beltSentence(bench)}>
          <canvas @pointerdown=${this.pick}></canvas>${this.eventLabels()}
        </div>
      </section>
      <section aria-label="One sweep">
        <div class="head">
          <h2>${following ? 'This sweep' : `Sweep ${countText(bench.shownSweep + 1)}`}</h2>
          <span class="soft">µV against ms</span>
        </div>
        <div class="picture single" data-tables="sweep" role="img" aria-label=${sweepSentence(bench)}>
          <canvas></canvas>${this.axes()}
        </div>
      </section>
    `;
  }

  private eventLabels() {
    const { record } = this.bench;
    const { firstSweep, cellCount, cellWidth } = beltLayout(record, this.bench.selectedSweep, this.belt.width || 1);
    return html`<svg aria-hidden="true">${record.scenario.events.map((event) => {
      const cell = record.sweepAfter(event.atS) - firstSweep;
      if (record.sweepAfter(event.atS) < 0 || cell < 0 || cell >= cellCount) return nothing;
      const late = cell > cellCount - 6;
      return svg`<text class="event" x=${cell * cellWidth + (late ? -8 : 8)} y="9" text-anchor=${late ? 'end' : 'start'}>${eventLabel(event)}</text>`;
    })}</svg>`;
  }

  private axes() {
    const { width, height } = this.single;
    if (width === 0) return null;
    const { timeMs, voltageUv } = sweepAxes(this.bench.scenario, this.rangeUv, width, height);
    return html`<svg aria-hidden="true">
      ${linearTicks(timeMs.from, timeMs.to, 5).map(
        (ms) => svg`<text x=${timeMs(ms)} y=${height - 3} text-anchor="middle">${tickText(ms)}</text>`,
      )}
      ${[voltageUv.from, 0, voltageUv.to].map(
        (uv) => svg`<text x="30" y=${Math.max(10, voltageUv(uv) + 3)} text-anchor="end">${tickText(uv)}</text>`,
      )}
    </svg>`;
  }

  private pick(event: PointerEvent): void {
    const { cellWidth, firstSweep } = beltLayout(this.bench.record, this.bench.selectedSweep, this.belt.width);
    const sweep = firstSweep + Math.floor(event.offsetX / cellWidth);
    if (sweep >= 0) this.bench.selectSweep(sweep);
  }
}

import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Bench } from '../model/bench.ts';
import { decimalText, tickText } from '../model/numberText.ts';
import {
  advisedRates,
  HARMONICS,
  LOCKED,
  lockDistances,
  overlapShare,
  traces,
  wanderTurns,
} from '../model/rateAdvice.ts';
import { rateTables, type TableHost } from '../model/viewTables.ts';
import { drawRates, rateAt, rateAxes } from '../stage/ratePicture.ts';
import { linearTicks } from '../stage/scale.ts';
import './dataTables.ts';
import { tablesOn } from '../model/pictureTables.ts';
import { BenchController } from './benchController.ts';
import { PictureController } from './pictureController.ts';
import { sharedStyles } from './sharedStyles.ts';

const LINES = [50, 60] as const;

/** The rate adviser: which stimulus rates lock with the supply, harmonic by harmonic, for each trace that is averaged. */
@customElement('sweep-rates')
export class SweepRates extends LitElement implements TableHost {
  static override styles = [
    sharedStyles,
    css`
      .head { display: flex; flex-wrap: wrap; gap: 0.3rem 0.8rem; align-items: baseline; }
      .maps { display: grid; gap: 0.5rem; }
      .picture { height: max(10.5rem, calc((100vh - 31rem - var(--strip, 0rem)) / 2)); }
      .picture canvas { cursor: crosshair; }
      .row { display: flex; flex-wrap: wrap; gap: 0.35rem 0.6rem; align-items: center; margin: 0.3rem 0; }
      .row button { border-radius: 1rem; min-height: 1.75rem; padding: 0.05rem 0.6rem; }
      h3 { margin: 0.3rem 0 0.1rem; }
      p { margin: 0.2rem 0; font-size: 0.92rem; max-width: 80ch; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  private readonly pictures = LINES.map(
    (lineHz) =>
      new PictureController(
        this,
        (ink, w, h, palette) => drawRates(this.bench, lineHz, ink, w, h, palette),
        `.line${lineHz} canvas`,
      ),
  );

  constructor() {
    super();
    new BenchController(this, () => {
      for (const picture of this.pictures) picture.invalidate();
    }, ['settings']);
  }

  override render() {
    const { bench } = this;
    const { scenario } = bench;
    const { ratePerS } = scenario.stimulus;
    const roomHz = scenario.mains.lineHz;
    const free = bench.isFree('stimulus.ratePerS');
    const overlap = overlapShare(scenario);
    return html`
      <section aria-label="Rate adviser">
        <div class="head"><h2>Rate against supply</h2>
          <span class="soft">hum that comes at the same phase with every stimulus is averaged like a response: the more a field stands out from the paper, the nearer a lock; hatched is locked</span></div>
        <p>${this.sentence(ratePerS, roomHz)} The supply wanders: ±${decimalText(wanderTurns(scenario), 3)} turns at harmonic ${HARMONICS}.
          ${overlap >= 1 ? html`<strong class="problem">The next stimulus comes before the answer is over.</strong>` : `The answer takes ${decimalText(100 * overlap, 0)} % of the interval.`}</p>
        <div class="row"><span class="soft">Near ${tickText(ratePerS)}/s, farthest from any lock at ${tickText(roomHz)} Hz:</span>
          ${advisedRates(scenario, roomHz).map(
            (advised) => html`<button ?disabled=${!free} aria-pressed=${advised.ratePerS === ratePerS}
              @click=${() => bench.set('stimulus.ratePerS', advised.ratePerS)}>${tickText(advised.ratePerS)}/s · ${decimalText(advised.distance, 2)} turns</button>`,
          )}
        </div>
        <div class="maps">${LINES.map((lineHz, k) => this.map(lineHz, k, free))}</div>
        <p class="soft">The split buffers take pairs of sweeps in turn; a lock at half a turn cancels within a pair, so their row is the careful side.</p>
        <sweep-data-tables .tables=${() => tablesOn(bench, this.tables())}></sweep-data-tables>
      </section>
    `;
  }

  tables() {
    return rateTables();
  }

  private map(lineHz: number, k: number, free: boolean) {
    const { scenario } = this.bench;
    const here = Math.abs(scenario.mains.lineHz - lineHz) < 1;
    return html`<div>
      <h3>${lineHz} Hz${here ? ', as in this room' : ''}</h3>
      <div class=${`picture line${lineHz}`} data-tables="locks" role="img" aria-label=${`Lock map at ${lineHz} Hz. ${this.sentence(scenario.stimulus.ratePerS, lineHz)}`}>
        <canvas @click=${(event: MouseEvent) => (free ? this.pick(event, k) : undefined)}></canvas>${this.labels(k)}</div>
    </div>`;
  }

  private sentence(ratePerS: number, lineHz: number): string {
    const parts = lockDistances(ratePerS, lineHz).map(
      (distance, k) => `${traces[k].name} ${decimalText(distance, 3)}${distance < LOCKED ? ' (locked)' : ''}`,
    );
    return `At ${tickText(ratePerS)}/s and ${tickText(lineHz)} Hz, turns from the nearest lock: ${parts.join(', ')}.`;
  }

  private labels(k: number) {
    const { width, height } = this.pictures[k];
    if (width === 0) return nothing;
    const { ratePerS: x, rowHeight, rowTop } = rateAxes(this.bench, width, height);
    const rows = [
      ...Array.from({ length: HARMONICS }, (_, h) => (h === 0 ? 'harmonic 1' : String(h + 1))),
      ...traces.map(({ name }) => name),
    ];
    return html`<svg aria-hidden="true">
      ${rows.map((name, row) => svg`<text x="90" y=${rowTop(row) + rowHeight / 2 + 3.5} text-anchor="end">${name}</text>`)}
      ${linearTicks(x.from, x.to, 10).map((rate) => svg`<text x=${x(rate)} y=${height - 3} text-anchor="middle">${tickText(rate)}</text>`)}
      <text x="90" y=${height - 3} text-anchor="end">per s</text></svg>`;
  }

  private pick(event: MouseEvent, k: number): void {
    this.bench.set('stimulus.ratePerS', rateAt(this.bench, event.offsetX, this.pictures[k].width));
  }
}

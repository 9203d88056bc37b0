import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Bench } from '../model/bench.ts';
import { reasonSentence, sweepSentence } from '../model/narration.ts';
import { decimalText } from '../model/numberText.ts';
import { BenchController } from './benchController.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { sharedStyles } from './sharedStyles.ts';

/** One sweep in words: what each lane did with it and why, in the strategy's own sentence. */
@customElement('sweep-inspector')
export class SweepInspector extends LitElement {
  static override styles = [
    sharedStyles,
    laneBadgeStyles,
    css`
      .head { display: flex; flex-wrap: wrap; gap: 0.3rem 0.5rem; align-items: center; margin-bottom: 0.2rem; }
      .head input { width: 5.4rem; }
      .head button { padding-inline: 0.55rem; }
      ol { list-style: none; margin: 0.2rem 0 0; padding: 0; font-size: 0.9rem; }
      li { display: grid; grid-template-columns: 3.6rem 3.2rem minmax(0, 1fr); gap: 0.2rem 0.3rem; padding: 0.14rem 0; border-top: 1px solid var(--rule); }
      .share { text-align: right; font-variant-numeric: tabular-nums; font-weight: 600; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;

  constructor() {
    super();
    new BenchController(this);
  }

  override render() {
    const { bench } = this;
    const shown = bench.shownSweep;
    return html`
      <section aria-label="Sweep in words">
        <div class="head">
          <h2>Why this weight</h2>
          <button aria-label="Earlier sweep" @click=${() => bench.selectSweep(shown - 1)}>‹</button>
          <label><span class="unseen">Sweep number</span>
            <input id="sweep" type="number" min="1" step="1" max=${Math.max(1, bench.record.offeredCount)}
              .value=${String(Math.max(1, shown + 1))} @focus=${() => bench.selectSweep(shown)} @change=${this.pick} />
          </label>
          <button aria-label="Later sweep" @click=${() => bench.selectSweep(shown + 1)}>›</button>
          <button aria-pressed=${bench.selectedSweep === null} @click=${() => bench.selectSweep(null)}>Follow</button>
        </div>
        <p class="soft number">${sweepSentence(bench)}</p>
        <ol>
          ${bench.record.lanes.map((_, lane) => {
            const share = shown < 0 ? NaN : bench.record.normalisedWeight(lane, shown);
            return html`<li>
              ${laneBadge(lane)}<span class="share" title="weight over the mean weight">${Number.isFinite(share) ? `×${decimalText(share, 2)}` : '–'}</span>
              <span>${reasonSentence(bench, lane)}</span>
            </li>`;
          })}
        </ol>
      </section>
    `;
  }

  private pick(event: Event): void {
    const number = (event.target as HTMLInputElement).valueAsNumber;
    if (number >= 1) this.bench.selectSweep(number - 1);
  }
}

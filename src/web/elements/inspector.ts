import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Bench } from '../model/bench.ts';
import { reasonSentence, sweepSentence } from '../model/narration.ts';
import { decimalText, voltageText } from '../model/numberText.ts';
import { BenchController } from './benchController.ts';
import './ripple.ts';
import { laneBadge, laneBadgeStyles } from './laneBadge.ts';
import { sharedStyles } from './sharedStyles.ts';
import { TaskController } from './taskController.ts';

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
      .mix { margin: 0.3rem 0; }
      .strip { width: 45%; vertical-align: middle; }
      .strip span { display: block; height: 0.5rem; background: var(--ink-soft); }
      .ripple { border-bottom: 1px solid var(--ink); padding-bottom: 0.3rem; margin-bottom: 0.4rem; }
      .share { text-align: right; font-variant-numeric: tabular-nums; font-weight: 600; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;

  private mixOf = -1;
  private readonly mix = new TaskController(this, 'sweep-mix');

  constructor() {
    super();
    new BenchController(this, (change) => {
      if (change === 'settings') this.mix.clear();
    });
  }

  override render() {
    const { bench } = this;
    const shown = bench.shownSweep;
    return html`
      <section aria-label="Sweep in words">
        ${bench.ripple ? this.rippleOf(bench.ripple) : nothing}
        <div class="head">
          <h2>Why this weight</h2>
          <button aria-label="Earlier sweep" @click=${() => bench.selectSweep(shown - 1)}>‹</button>
          <label><span class="unseen">Sweep number</span>
            <input id="sweep" type="number" min="1" step="1" max=${Math.max(1, bench.record.offeredCount)}
              .value=${String(Math.max(1, shown + 1))} @focus=${() => bench.selectSweep(shown)} @change=${this.pick} />
          </label>
          <button aria-label="Later sweep" @click=${() => bench.selectSweep(shown + 1)}>›</button>
          <button aria-pressed=${bench.selectedSweep === null} @click=${() => bench.selectSweep(null)}>Follow</button>
          ${bench.truthSealed || shown < 0 ? nothing : html`<button title="Take this sweep apart by its sources" @click=${() => this.takeApart(shown)}>Sources</button>`}
        </div>
        <p class="soft number">${sweepSentence(bench)}</p>
        ${this.mixture(shown)}
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

  private mixture(shown: number) {
    if (this.bench.truthSealed || this.mixOf !== shown) return nothing;
    const parts = this.mix.result;
    if (!parts) return html`<div class="mix">${this.mix.progress('Taking the sweep apart')}</div>`;
    return html`<table class="mix"><caption class="unseen">Sweep ${shown + 1} by source, µV rms</caption><tbody>${parts.map(
      ({ label, rmsUv }) => html`<tr><th scope="row">${label}</th><td>${voltageText(rmsUv)}</td>
        <td class="strip"><span style=${`width: ${((100 * rmsUv) / parts[0].rmsUv).toFixed(1)}%`}></span></td></tr>`,
    )}</tbody></table>`;
  }

  private rippleOf({ lane, latencyMs }: { lane: number; latencyMs: number }) {
    return html`<div class="ripple"><div class="head"><h2>Who made this ripple</h2>
        <button aria-label="Ask no more after this ripple" @click=${() => this.bench.askRipple(null)}>×</button></div>
      <sweep-ripple .bench=${this.bench} .lane=${lane} .latencyMs=${latencyMs}></sweep-ripple></div>`;
  }

  private takeApart(index: number): void {
    const { bench } = this;
    this.mixOf = index;
    bench.selectSweep(index);
    const { scenario, seed, laneSettings: lanes } = bench;
    void this.mix.start({ scenario, seed, lanes, index });
  }

  private pick(event: Event): void {
    const number = (event.target as HTMLInputElement).valueAsNumber;
    if (number >= 1) this.bench.selectSweep(number - 1);
  }
}

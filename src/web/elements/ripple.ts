import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Bench } from '../model/bench.ts';
import { laneLetters } from '../model/narration.ts';
import { countText, voltageText } from '../model/numberText.ts';
import { rippleAt } from '../model/ripple.ts';
import { BenchController } from './benchController.ts';
import { sharedStyles } from './sharedStyles.ts';

/** Who made a ripple: the ten sweeps that contributed most to an average at one latency, each a click away. */
@customElement('sweep-ripple')
export class SweepRipple extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      p { font-size: 0.9rem; margin: 0.25rem 0; }
      ol { list-style: none; margin: 0; padding: 0; display: flex; flex-wrap: wrap; gap: 0.25rem; }
      li button { padding: 0 0.4rem; min-height: 1.6rem; font-size: 0.86rem; border-radius: 1rem; font-variant-numeric: tabular-nums; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @property({ type: Number }) lane = 0;
  @property({ type: Number }) latencyMs = 0;

  constructor() {
    super();
    new BenchController(this);
  }

  override render() {
    const { bench, lane, latencyMs } = this;
    const ripple = lane < bench.record.lanes.length ? rippleAt(bench.record, lane, latencyMs) : null;
    if (!ripple || ripple.parts.length === 0) return nothing;
    const { parts, togetherUv, valueUv, askedCount, approximate } = ripple;
    return html`<section aria-label="Who made this ripple">
      <p>${laneLetters[lane]} at ${latencyMs.toFixed(2)} ms is ${voltageText(valueUv)}. Of ${countText(askedCount)} sweeps, these
        ${parts.length} make ${voltageText(togetherUv)} of it${approximate ? ' (about: this lane is no weighted sum)' : ''}:</p>
      <ol>${parts.map(
        ({ index, partUv }) =>
          html`<li><button aria-pressed=${bench.selectedSweep === index} @click=${() => bench.selectSweep(index)}><span class="unseen">Sweep </span>${countText(index + 1)} · ${voltageText(partUv)}</button></li>`,
      )}</ol></section>`;
  }
}

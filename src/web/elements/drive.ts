import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Bench } from '../model/bench.ts';
import { countText, tickText } from '../model/numberText.ts';
import { type PatientMeter, patientMeters } from '../model/patientMeter.ts';
import { hasSilences, sessionEndS } from '../model/sessionClock.ts';
import { BenchController } from './benchController.ts';
import { sharedStyles } from './sharedStyles.ts';

const speeds = [1, 5, 10, 20, 100] as const;

const stateWords = {
  running: 'running',
  paused: 'paused',
  finished: 'session over',
  failed: 'stopped by a fault',
} as const;

/** How the run is driven: run, pause, restart, one sweep, speed, seal; and the clock. */
@customElement('sweep-drive')
export class SweepDrive extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      :host { display: flex; flex-wrap: wrap; gap: 0.35rem 0.5rem; align-items: center; }
      label { display: flex; gap: 0.35rem; align-items: center; }
      .run { min-width: 5.2rem; }
      dl { display: flex; flex-wrap: wrap; gap: 0 1.1rem; margin: 0 0 0 auto; }
      dl div { display: flex; gap: 0.35rem; align-items: baseline; white-space: nowrap; }
      dt { color: var(--ink-soft); font-size: 0.86rem; }
      dd { margin: 0; font-weight: 600; font-variant-numeric: tabular-nums; }
      .seal[aria-pressed='true'] { background: var(--truth); border-color: var(--truth); }
      .meter { display: flex; gap: 0.4rem; align-items: center; }
      .gauge { position: relative; width: 5rem; height: 0.6rem; border: 1px solid var(--ink-faint); border-radius: 2px; overflow: hidden; }
      .gauge .level { position: absolute; inset: 0 auto 0 0; background: var(--ink-soft); }
      .gauge .goal { position: absolute; top: 0; bottom: 0; width: 2px; background: var(--flag); }
      .problem { flex-basis: 100%; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  /** Whether the strip of things to do is open. */
  @property({ type: Boolean }) handsShown = false;

  constructor() {
    super();
    new BenchController(this);
  }

  override render() {
    const { bench } = this;
    const { record, scenario } = bench;
    const running = bench.state === 'running';
    const endS = sessionEndS(scenario);
    const over = bench.state === 'finished' || bench.state === 'failed';
    return html`
      <button class="run primary" @click=${() => (running ? bench.pause() : bench.run())}>
        ${running ? 'Pause' : over ? 'Run again' : 'Run'}
      </button>
      <button @click=${() => bench.restart()} title="Same patient from second 0">Restart</button>
      <button ?disabled=${over} title="Offer the next sweep and wait (N)" @click=${() => bench.step()}>One sweep</button>
      <label>Speed
        <select id="speed" @change=${this.speed}>
          ${speeds.map((speed) => html`<option value=${speed} ?selected=${bench.speed === speed}>×${speed}</option>`)}
          <option value="" ?selected=${bench.speed === null}>as fast as it goes</option>
        </select>
      </label>
      <button class="seal" title="Sealed, the true response and the true noise stay hidden, as with a real patient (T)" aria-pressed=${bench.truthSealed} ?disabled=${bench.sealHeld} @click=${() => bench.sealTruth(!bench.truthSealed)}>
        ${bench.truthSealed ? 'Unseal the truth' : 'Seal the truth'}
      </button>
      <button aria-pressed=${this.handsShown} @click=${this.showHands} title="What can be done to patient, rig and room">Hands on</button>
      <dl>
        ${patientMeters(record)
          .filter(({ ofModel }) => !(ofModel && bench.keepsSecrets))
          .map((meter) => this.meter(meter))}
        <div><dt>state</dt><dd id="state">${bench.isReplaying && record.offeredCount === 0 ? 'catching up' : stateWords[bench.state]}</dd></div>
        <div><dt>${hasSilences(scenario) ? 'clock' : 'stimulation'}</dt><dd>${record.seconds.toFixed(1)} / ${tickText(Number(endS.toFixed(1)))} s</dd></div>
        <div><dt>sweeps</dt><dd id="sweeps">${countText(record.offeredCount)}</dd></div>
        <div><dt>rate</dt><dd>${tickText(scenario.stimulus.ratePerS)}/s</dd></div>
      </dl>
      ${bench.failure === null ? null : html`<p class="problem" role="alert">${bench.failure}</p>`}
      ${bench.recovery === null ? null : html`<p class="soft" role="status">${bench.recovery}</p>`}
    `;
  }

  private meter({ name, text, share, goal, title }: PatientMeter) {
    return html`<div title=${title} id=${name}><dt>${name}</dt><dd class="meter"><span class="gauge" aria-hidden="true">
      <span class="level" style=${`width: ${(100 * share).toFixed(0)}%`}></span>
      ${goal < 1 ? html`<span class="goal" style=${`left: ${(100 * goal).toFixed(0)}%`}></span>` : nothing}</span>${text}</dd></div>`;
  }

  private showHands(): void {
    this.dispatchEvent(new CustomEvent('hands-toggle', { bubbles: true, composed: true }));
  }

  private speed(event: Event): void {
    const { value } = event.target as HTMLSelectElement;
    this.bench.setSpeed(value === '' ? null : Number(value));
  }
}

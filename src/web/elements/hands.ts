import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import type { Action, ActionTarget } from '../../core/scenario/actions/action.ts';
import type { Bench } from '../model/bench.ts';
import { type BenchEvent, effectiveS, eventLabel, type OfferedAction, offeredActions } from '../model/handsOn.ts';
import { BenchController } from './benchController.ts';
import { sharedStyles } from './sharedStyles.ts';

const electrodes: readonly (readonly [ActionTarget, string])[] = [
  ['none', 'where it matters most'],
  ['common', 'vertex or reference'],
  ['ipsilateral', 'test side'],
  ['contralateral', 'other side'],
  ['ground', 'ground'],
];

/** Hands on: what can be done to patient, rig and room now, and what has been done; each a timed event of the scenario. */
@customElement('sweep-hands')
export class SweepHands extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      section { display: grid; gap: 0.4rem 1.4rem; grid-template-columns: minmax(0, 1fr); align-items: start; }
      .groups { display: grid; gap: 0.35rem; }
      .group { display: grid; grid-template-columns: 8.6rem minmax(0, 1fr); gap: 0.2rem; align-items: baseline; }
      .deeds { display: flex; flex-wrap: wrap; gap: 0.3rem; align-items: center; }
      .title { font: italic 400 0.98rem/1.2 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; }
      h2 { font-size: 0.98rem; }
      .group button { padding: 0.1rem 0.5rem; min-height: 1.75rem; font-size: 0.9rem; border-radius: 1rem; }
      kbd { font: inherit; font-size: 0.78rem; color: var(--ink-soft); border: 1px solid var(--rule); border-radius: 3px; padding: 0 0.25rem; margin-left: 0.3rem; text-transform: uppercase; }
      .group select { min-height: 1.75rem; padding-block: 0; font-size: 0.9rem; }
      .group label { font-size: 0.9rem; display: inline-flex; gap: 0.3rem; align-items: center; color: var(--ink-soft); }
      .done { font-size: 0.9rem; }
      ol { list-style: none; margin: 0.2rem 0 0; padding: 0; max-height: 5.2rem; overflow-y: auto; }
      li { display: flex; gap: 0.35rem; align-items: center; padding: 0.08rem 0; }
      li span { flex: 1; min-width: 0; }
      li input { width: 5.4rem; min-height: 1.6rem; padding: 0 0.25rem; }
      li button { min-height: 1.6rem; padding: 0 0.45rem; }
      .note { font-size: 0.86rem; color: var(--ink-soft); min-height: 1.2em; }
      @media (max-width: 40rem) { .group { grid-template-columns: minmax(0, 1fr); } kbd { display: none; } }
      @media (min-width: 60rem) { section { grid-template-columns: minmax(0, 1fr) 21rem; } }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private said = '';
  @state() private all = false;
  private target: ActionTarget = 'none';

  constructor() {
    super();
    new BenchController(this, () => {}, ['settings', 'run']);
  }

  /** Does it if it makes sense now, as its button would. @returns whether it was offered */
  act(id: Action['id']): boolean {
    const { bench } = this;
    const offers = this.offers().flatMap((group) => group.offers);
    const offer = offers.find(({ action }) => action.id === id);
    if (!offer || offer.refusal !== null || !bench.isFree('events') || bench.state === 'finished') return false;
    bench.act(id, offer.action.targets ? this.target : 'none');
    const { action } = offer;
    const cost = action.costS > 0 ? ` It costs ${action.costS} s without sweeps.` : '';
    const lasts = action.lastsS > 0 ? ` It lasts ${action.lastsS} s.` : '';
    this.said = bench.problem ?? `${action.label}: ${action.effect}.${cost}${lasts}`;
    return true;
  }

  override render() {
    const { bench } = this;
    const free = bench.isFree('events');
    const over = bench.state === 'finished';
    const { events } = bench.scenario;
    return html`
      <section aria-label="Hands on">
        <div class="groups">
          ${this.offers().map(({ title, offers }) => this.group(title, offers, free && !over))}
          <p class="note" role="status">${over && free ? 'The session is over: run it again, and do it while it runs. What was done can still be moved and undone.' : this.said || (free ? 'What you do becomes an event: the run goes on from it, and replays with it, sweep for sweep.' : 'The lesson keeps your hands off this patient.')}</p>
        </div>
        <div class="done">
          <h2>Done so far</h2>
          ${events.length === 0 ? html`<p class="soft">Nothing yet.</p>` : nothing}
          <ol>${events.map((event, k) => this.event(event, k, free))}</ol>
        </div>
      </section>
    `;
  }

  private offers() {
    const { scenario, record } = this.bench;
    return offeredActions(scenario, effectiveS(scenario, record.seconds));
  }

  private group(title: string, offers: readonly OfferedAction[], free: boolean) {
    const sensible = offers.filter(({ refusal }) => refusal === null);
    const possible = this.all ? sensible : sensible.filter(({ key }) => key !== '');
    return html`<div class="group" role="group" aria-label=${title}>
      <span class="title" aria-hidden="true">${title}</span>
      <div class="deeds">${possible.map(
        ({ action, key }) => html`<button ?disabled=${!free} title=${action.effect} id=${action.id}
          aria-keyshortcuts=${key || nothing} @click=${() => this.act(action.id)}>${action.label}${key ? html`<kbd aria-hidden="true">${key}</kbd>` : nothing}</button>`,
      )}
      ${
        sensible.some(({ key }) => key === '')
          ? html`<button aria-expanded=${this.all} @click=${this.toggleAll}>${this.all ? 'Fewer' : 'More …'}</button>`
          : nothing
      }
      ${
        possible.some(({ action }) => action.targets)
          ? html`<label>Electrode <select id="electrode" @change=${this.choose}>
              ${electrodes.map(([id, label]) => html`<option value=${id}>${label}</option>`)}</select></label>`
          : nothing
      }</div>
    </div>`;
  }

  private event(event: BenchEvent, k: number, free: boolean) {
    const label = eventLabel(event);
    return html`<li>
      <input type="number" min="0" step="0.1" aria-label=${`Second of “${label}”`} ?disabled=${!free}
        .value=${live(String(event.atS))} @change=${(change: Event) => this.move(k, (change.target as HTMLInputElement).valueAsNumber)} />
      <span>s · ${label}</span>
      <button aria-label=${`Undo “${label}” at ${event.atS} s`} ?disabled=${!free} @click=${() => this.undo(k)}>Undo</button>
    </li>`;
  }

  private toggleAll(): void {
    this.all = !this.all;
  }

  private choose(event: Event): void {
    this.target = (event.target as HTMLSelectElement).value as ActionTarget;
  }

  private move(k: number, atS: number): void {
    const { bench } = this;
    const moved = bench.scenario.events.map((event, j) => (j === k ? { ...event, atS } : event));
    bench.setEvents(moved.sort((a, b) => a.atS - b.atS));
    this.said = bench.problem ?? 'Moved: the run was replayed with it.';
    this.requestUpdate();
  }

  private undo(k: number): void {
    const { bench } = this;
    const label = eventLabel(bench.scenario.events[k]);
    bench.setEvents(bench.scenario.events.filter((_, j) => j !== k));
    this.said = bench.problem ?? `Undone: ${label}. The run was replayed without it.`;
  }
}

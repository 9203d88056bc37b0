import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import { responseKind } from '../../core/response/index.ts';
import type { Bench } from '../model/bench.ts';
import { type Control, controlAt, controlGroups } from '../model/controls.ts';
import { BenchController } from './benchController.ts';
import './laneDrawer.ts';
import './quantity.ts';
import { sharedStyles } from './sharedStyles.ts';

const groups = controlGroups.map(({ title, open, entries }) => ({
  title,
  open: open ?? false,
  controls: entries.map(([path, label]) => controlAt(path, label)),
}));

/** The bench drawer: controls made from the scenario's schema, and the scenario to take away. */
@customElement('sweep-drawer')
export class SweepDrawer extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .take { display: flex; flex-wrap: wrap; gap: 0.35rem; margin-bottom: 0.4rem; }
      .take label { display: inline-flex; }
      .note { font-size: 0.86rem; color: var(--ink-soft); }
      details { border-top: 1px solid var(--rule); padding: 0.25rem 0; }
      summary { font: italic 400 1rem/1.5 "Iowan Old Style", Palatino, Georgia, "DejaVu Serif", serif; }
      .line { display: flex; gap: 0.5rem; align-items: center; justify-content: space-between; padding: 0.2rem 0; font-size: 0.9rem; }
      .line input { width: 1.1rem; height: 1.1rem; accent-color: var(--ink); }
      .problem { border: 1px solid currentcolor; border-radius: 3px; padding: 0.3rem 0.5rem; margin-bottom: 0.3rem; overflow-wrap: anywhere; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private said = '';

  constructor() {
    super();
    new BenchController(this, () => {}, ['settings']);
  }

  override render() {
    const { bench } = this;
    return html`
      <section aria-label="Bench settings">
        ${
          bench.keepsSecrets
            ? html`<p class="note">${
                bench.lockedHidden
                  ? 'This patient has no label: what is locked is hidden until the seal is broken.'
                  : 'This lesson keeps some settings out of sight.'
              }</p>`
            : html`<div class="take">
          <button @click=${this.save}>Save scenario</button>
          <button @click=${this.open}>Open scenario</button>
          <input hidden type="file" accept=".yaml,.yml,.json" aria-label="Scenario file" @change=${this.opened} />
        </div>`
        }
        <p class="note" role="status">${this.said}</p>
        ${bench.problem === null ? nothing : html`<p class="problem" role="alert">${bench.problem}. The last good setting goes on.</p>`}
        <p class="note">
          ${
            bench.freePaths === null
              ? 'A change restarts the same patient, same seed, from second 0; a change of the lanes replays the same sweeps.'
              : 'A lesson is on: only its own settings are free.'
          }
        </p>
        ${groups.map(
          (group) => html`<details ?open=${group.open}>
            <summary>${group.title}</summary>
            ${group.title === 'Lanes' ? html`<sweep-lane-drawer .bench=${bench}></sweep-lane-drawer>` : nothing}
            ${group.controls.map((control) => this.control(control))}
          </details>`,
        )}
      </section>
    `;
  }

  private control(control: Control) {
    const { bench } = this;
    const { path, label } = control;
    const value = bench.valueAt(path);
    const locked = !bench.isFree(path);
    if (bench.isHidden(path)) return nothing;
    switch (control.kind) {
      case 'switch':
        return html`<div class="line"><label for=${path} title=${control.description}>${label}</label>
          <input id=${path} type="checkbox" .checked=${live(value === true)} ?disabled=${locked}
            @change=${(event: Event) => bench.set(path, (event.target as HTMLInputElement).checked)} /></div>`;
      case 'choice':
        return html`<div class="line"><label for=${path} title=${control.description}>${label}</label>
          <select id=${path} ?disabled=${locked}
            @change=${(event: Event) => bench.set(path, (event.target as HTMLSelectElement).value)}>
            ${control.choices.map((choice) => html`<option value=${choice} ?selected=${choice === value}>${path === 'response.kind' ? responseKind(choice).label : choice}</option>`)}
          </select></div>`;
      case 'number':
        return this.quantity(control, typeof value === 'number' ? value : NaN, locked);
      default:
        return control satisfies never;
    }
  }

  private quantity(control: Control & { kind: 'number' }, value: number, locked: boolean) {
    const { path } = control;
    const caution =
      path === 'stimulus.levelDbNhl' && value >= 80
        ? html`<p class="note">This lab makes no sound. With a real patient, levels this loud need a reason and a limit.</p>`
        : nothing;
    return html`<sweep-quantity .control=${control} .value=${value} ?locked=${locked}
        @quantity-set=${(event: CustomEvent<{ value: number }>) => this.change(path, event.detail.value)}></sweep-quantity>
      ${caution}`;
  }

  private change(path: string, value: number): void {
    this.bench.set(path, Number.isNaN(value) ? null : value); // an emptied field is refused by name
  }

  private save(): void {
    const text = `${JSON.stringify(this.bench.scenario, null, 2)}\n`;
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([text], { type: 'application/json' }));
    link.download = `${this.bench.scenario.id}.json`;
    link.click();
    URL.revokeObjectURL(link.href);
    this.said = `Saved as ${link.download}; the seed is ${this.bench.seed}.`;
  }

  private open(): void {
    this.renderRoot.querySelector<HTMLInputElement>('input[type=file]')?.click();
  }

  private opened(event: Event): void {
    const field = event.target as HTMLInputElement;
    const file = field.files?.[0];
    field.value = '';
    if (file) this.dispatchEvent(new CustomEvent('sweep-file', { detail: { file }, bubbles: true, composed: true }));
  }
}

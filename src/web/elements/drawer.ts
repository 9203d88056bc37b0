import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import type { Bench } from '../model/bench.ts';
import { type Control, controlAt, controlGroups, sliderMap } from '../model/controls.ts';
import { tickText } from '../model/numberText.ts';
import { scenarioLink } from '../model/scenarioLink.ts';
import { BenchController } from './benchController.ts';
import { sharedStyles } from './sharedStyles.ts';

const SETTLE_MS = 120; // a dragged slider restarts the patient once it rests, not at every step

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
      .control { display: grid; grid-template-columns: minmax(0, 1fr) 5.6rem 3.4rem; gap: 0 0.4rem; align-items: center; padding: 0.12rem 0; }
      .control label { grid-column: 1 / -1; font-size: 0.9rem; display: flex; justify-content: space-between; gap: 0.5rem; }
      .control .standard { color: var(--ink-soft); font-size: 0.8rem; white-space: nowrap; }
      .control input[type='range'] { width: 100%; min-width: 0; accent-color: var(--ink); margin: 0; min-height: 1.9rem; }
      .control input[type='number'] { width: 100%; min-width: 0; padding-inline: 0.3rem; }
      .unit { font-size: 0.82rem; color: var(--ink-soft); }
      .line { display: flex; gap: 0.5rem; align-items: center; justify-content: space-between; padding: 0.2rem 0; font-size: 0.9rem; }
      .line input { width: 1.1rem; height: 1.1rem; accent-color: var(--ink); }
      .changed .standard { color: var(--truth); font-weight: 600; }
      .problem { border: 1px solid currentcolor; border-radius: 3px; padding: 0.3rem 0.5rem; margin-bottom: 0.3rem; overflow-wrap: anywhere; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private said = '';
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor() {
    super();
    new BenchController(this, () => {}, ['settings']);
  }

  override render() {
    const { bench } = this;
    return html`
      <section aria-label="Bench settings">
        <div class="take">
          <button @click=${this.copyLink}>Copy link</button>
          <button @click=${this.save}>Save scenario</button>
          <button @click=${this.open}>Open scenario</button>
          <input hidden type="file" accept=".yaml,.yml,.json" aria-label="Scenario file" @change=${this.opened} />
        </div>
        <p class="note" role="status">${this.said}</p>
        ${bench.problem === null ? nothing : html`<p class="problem" role="alert">${bench.problem}. The last good setting goes on.</p>`}
        <p class="note">
          ${
            bench.freePaths === null
              ? 'A change restarts the same patient, same seed, from second 0.'
              : 'A lesson is on: only its own settings are free.'
          }
        </p>
        ${groups.map(
          (group) => html`<details ?open=${group.open}>
            <summary>${group.title}</summary>
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
    switch (control.kind) {
      case 'switch':
        return html`<div class="line"><label for=${path} title=${control.description}>${label}</label>
          <input id=${path} type="checkbox" .checked=${live(value === true)} ?disabled=${locked}
            @change=${(event: Event) => bench.set(path, (event.target as HTMLInputElement).checked)} /></div>`;
      case 'choice':
        return html`<div class="line"><label for=${path} title=${control.description}>${label}</label>
          <select id=${path} ?disabled=${locked}
            @change=${(event: Event) => bench.set(path, (event.target as HTMLSelectElement).value)}>
            ${control.choices.map((choice) => html`<option ?selected=${choice === value}>${choice}</option>`)}
          </select></div>`;
      case 'number':
        return this.quantity(control, typeof value === 'number' ? value : NaN, locked);
      default:
        return control satisfies never;
    }
  }

  private quantity({ path, label, schema, whole }: Control & { kind: 'number' }, value: number, locked: boolean) {
    const { minimum, maximum, unit, description } = schema;
    const map = sliderMap(schema, whole);
    const changed = value !== schema.default;
    const caution =
      path === 'stimulus.levelDbNhl' && value >= 80
        ? html`<p class="note">This lab makes no sound. With a real patient, levels this loud need a reason and a limit.</p>`
        : nothing;
    return html`<div class=${changed ? 'control changed' : 'control'}>
      <label for=${path} title=${description}>${label}
        <span class="standard">${changed ? `usual ${tickText(schema.default)}` : ''}</span></label>
      <input type="range" min="0" max=${map.steps} step="1" aria-label=${`${label}, slider`} ?disabled=${locked}
        aria-valuetext=${`${value} ${unit}`} .value=${live(String(map.toPosition(value)))}
        @input=${(event: Event) => this.slide(path, map.toValue((event.target as HTMLInputElement).valueAsNumber))} />
      <input id=${path} type="number" min=${minimum} max=${maximum} step=${whole ? 1 : 'any'} title=${`${description}: ${minimum} to ${maximum} ${unit}`}
        .value=${live(String(value))} ?disabled=${locked}
        @change=${(event: Event) => this.type(path, event.target as HTMLInputElement)} />
      <span class="unit">${unit}</span>
      ${caution}
    </div>`;
  }

  private slide(path: string, value: number): void {
    const field = this.renderRoot.querySelector<HTMLInputElement>(`[id='${path}']`);
    if (field) field.value = String(value);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.bench.set(path, value), SETTLE_MS);
  }

  private type(path: string, field: HTMLInputElement): void {
    this.bench.set(path, field.value === '' ? null : field.valueAsNumber);
  }

  private async copyLink(): Promise<void> {
    history.replaceState(null, '', `#${scenarioLink(this.bench.scenario, this.bench.seed)}`);
    try {
      await navigator.clipboard.writeText(location.href);
      this.said = 'Link copied: it brings back this patient, bit for bit.';
    } catch {
      this.said = 'The link is in the address bar: it brings back this patient, bit for bit.';
    }
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

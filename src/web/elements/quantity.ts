import { css, html, LitElement, type PropertyValues } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { live } from 'lit/directives/live.js';
import { type Control, sliderMap } from '../model/controls.ts';
import { tickText } from '../model/numberText.ts';
import { sharedStyles } from './sharedStyles.ts';

const SETTLE_MS = 120; // a dragged slider changes the bench once it rests, not at every step

/**
 * One number of a scenario or a lane: slider, field, unit, and its usual value where it has another.
 *
 * Tells a new value as `quantity-set` with `detail.value`, in the unit of the schema; NaN for an emptied field.
 */
@customElement('sweep-quantity')
export class SweepQuantity extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .control { display: grid; grid-template-columns: minmax(0, 1fr) 5.6rem 3.4rem; gap: 0 0.4rem; align-items: center; padding: 0.12rem 0; }
      label { grid-column: 1 / -1; font-size: 0.9rem; display: flex; justify-content: space-between; gap: 0.5rem; }
      .standard { color: var(--ink-soft); font-size: 0.8rem; white-space: nowrap; }
      input[type='range'] { width: 100%; min-width: 0; accent-color: var(--ink); margin: 0; min-height: 1.9rem; }
      input[type='number'] { width: 100%; min-width: 0; padding-inline: 0.3rem; }
      .unit { font-size: 0.82rem; color: var(--ink-soft); }
      .changed .standard { color: var(--truth); font-weight: 600; }
    `,
  ];

  @property({ attribute: false }) control!: Control & { kind: 'number' };
  @property({ type: Number }) value = NaN;
  @property({ type: Boolean }) locked = false;
  private timer: ReturnType<typeof setTimeout> | undefined;

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.timer);
  }

  protected override shouldUpdate(changed: PropertyValues): boolean {
    return changed.size > 0; // a field that is being typed into is not overwritten by other news
  }

  override render() {
    const { path, label, schema, whole } = this.control;
    const { value, locked } = this;
    const { minimum, maximum, unit, description } = schema;
    const map = sliderMap(schema, whole);
    const changed = value !== schema.default;
    return html`<div class=${changed ? 'control changed' : 'control'}>
      <label for=${path} title=${description}>${label}
        <span class="standard">${changed ? `usual ${tickText(schema.default)}` : ''}</span></label>
      <input type="range" min="0" max=${map.steps} step="1" aria-label=${`${label}, slider`} ?disabled=${locked}
        aria-valuetext=${`${value} ${unit}`} .value=${live(String(map.toPosition(value)))}
        @input=${(event: Event) => this.slide(map.toValue((event.target as HTMLInputElement).valueAsNumber))} />
      <input id=${path} type="number" min=${minimum} max=${maximum} step=${whole ? 1 : 'any'} title=${`${description}: ${minimum} to ${maximum} ${unit}`}
        .value=${live(String(value))} ?disabled=${locked}
        @change=${(event: Event) => this.tellValue((event.target as HTMLInputElement).valueAsNumber)} />
      <span class="unit">${unit}</span>
    </div>`;
  }

  private slide(value: number): void {
    const field = this.renderRoot.querySelector<HTMLInputElement>('input[type=number]');
    if (field) field.value = String(value);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.tellValue(value), SETTLE_MS);
  }

  private tellValue(value: number): void {
    this.dispatchEvent(new CustomEvent('quantity-set', { detail: { value }, bubbles: true, composed: true }));
  }
}

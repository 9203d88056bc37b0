import { css, html, LitElement } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Answer } from '../../lessons/markQuestion.ts';
import type { Question } from '../../lessons/schema.ts';
import { sharedStyles } from './sharedStyles.ts';

/** One question of a lesson with the fields for its answer. Tells of a change by `lesson-answer`, detail: the answer. */
@customElement('sweep-lesson-question')
export class SweepLessonQuestion extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      fieldset { border: none; margin: 0 0 0.9rem; padding: 0; min-width: 0; }
      legend { padding: 0; margin-bottom: 0.3rem; font-weight: 600; }
      .points { font-weight: 400; color: var(--ink-soft); }
      label.line { display: flex; gap: 0.5rem; align-items: baseline; padding: 0.2rem 0; }
      .items { display: grid; grid-template-columns: auto auto 1fr; gap: 0.25rem 0.8rem; align-items: center; }
      input[type='number'] { width: 8rem; max-width: 100%; }
      input[type='radio'] { flex: none; }
    `,
  ];

  @property({ attribute: false }) question!: Question;
  @property({ attribute: false }) answer: Answer | undefined;
  @property({ type: Boolean }) locked = false;
  /** Places chosen so far, by item: an order counts once it is complete. */
  @state() private places: Record<string, number> | null = null;

  override render() {
    const { text, points } = this.question;
    return html`<fieldset ?disabled=${this.locked}>
      <legend>${text} <span class="points">(${points} points)</span></legend>
      ${this.fields()}
    </fieldset>`;
  }

  private fields() {
    const { question } = this;
    switch (question.kind) {
      case 'number':
        return html`<label class="line">
          <input type="number" step="any" aria-label=${`${question.text} ${question.unit}`}
            .value=${typeof this.answer === 'number' ? String(this.answer) : ''} @change=${this.onNumber} />
          <span>${question.unit}</span>
        </label>`;
      case 'choice':
        return question.options.map(
          ({ id, text }) => html`<label class="line">
            <input type="radio" name="option" .checked=${this.answer === id} @change=${() => this.tell(id)} />
            <span>${text}</span>
          </label>`,
        );
      case 'yes-no':
        return html`<div class="items">
          ${question.items.map(({ id, text }) => {
            const given = this.yesNo()[id];
            const radio = (value: boolean, word: string) => html`<label>
              <input type="radio" name=${id} aria-label=${`${text}: ${word}`} .checked=${given === value}
                @change=${() => this.tell({ ...this.yesNo(), [id]: value })} /> ${word}</label>`;
            return html`<span>${text}</span>${radio(true, 'yes')}${radio(false, 'no')}`;
          })}
        </div>`;
      case 'ranking':
        return this.ranking(question.items);
      default:
        return question satisfies never;
    }
  }

  private ranking(items: readonly { id: string; text: string }[]) {
    const places = this.chosenPlaces();
    const twice = new Set(Object.values(places)).size < Object.values(places).length;
    return html`
      ${items.map(
        ({ id, text }) => html`<label class="line">
          <select aria-label=${`Place of ${text}, 1 is the lowest`} @change=${(event: Event) => this.onPlace(id, event)}>
            <option value="" ?selected=${places[id] === undefined}>place</option>
            ${items.map((_, k) => html`<option value=${k + 1} ?selected=${places[id] === k + 1}>${k + 1}</option>`)}
          </select>
          <span>${text}</span>
        </label>`,
      )}
      <p class=${twice ? 'problem' : 'soft'}>${twice ? 'Each place can be given once.' : '1 is the lowest.'}</p>
    `;
  }

  private yesNo(): Record<string, boolean> {
    const { answer } = this;
    return typeof answer === 'object' && !Array.isArray(answer) ? { ...(answer as Record<string, boolean>) } : {};
  }

  private chosenPlaces(): Record<string, number> {
    if (this.places) return this.places;
    const order = Array.isArray(this.answer) ? (this.answer as readonly string[]) : [];
    return Object.fromEntries(order.map((id, k) => [id, k + 1]));
  }

  private onPlace(id: string, event: Event): void {
    const { value } = event.target as HTMLSelectElement;
    const places = { ...this.chosenPlaces() };
    if (value === '') delete places[id];
    else places[id] = Number(value);
    this.places = places;
    const order = Object.keys(places).sort((a, b) => places[a] - places[b]);
    const count = this.question.kind === 'ranking' ? this.question.items.length : 0;
    const complete = order.length === count && new Set(Object.values(places)).size === count;
    this.tell(complete ? order : undefined);
  }

  private onNumber(event: Event): void {
    const { valueAsNumber } = event.target as HTMLInputElement;
    this.tell(Number.isFinite(valueAsNumber) ? valueAsNumber : undefined);
  }

  private tell(answer: Answer | undefined): void {
    this.dispatchEvent(new CustomEvent('lesson-answer', { detail: answer }));
  }
}

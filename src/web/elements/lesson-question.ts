import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Answer } from '../../lessons/markQuestion.ts';
import type { Question } from '../../lessons/schema.ts';
import { sharedStyles } from './sharedStyles.ts';

/**
 * One question of a lesson with the fields for its answer.
 *
 * Tells of a change by `lesson-answer`, detail: the answer; of how sure the learner is by `lesson-confidence`, percent.
 */
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
      input[type='radio'], input[type='checkbox'] { flex: none; }
      .sure { color: var(--ink-soft); }
      .sure input[type='number'] { width: 4.5rem; }
    `,
  ];

  @property({ attribute: false }) question!: Question;
  @property({ attribute: false }) answer: Answer | undefined;
  @property({ type: Boolean }) locked = false;
  /** Whether the learner is asked how sure they are. */
  @property({ type: Boolean }) asksConfidence = false;
  @property({ attribute: false }) confidence: number | undefined;
  /** Places chosen so far, by item: an order counts once it is complete. */
  @state() private places: Record<string, number> | null = null;

  override render() {
    const { text, points } = this.question;
    return html`<fieldset ?disabled=${this.locked}>
      <legend>${text} <span class="points">(${points} points)</span></legend>
      ${this.fields()}
      ${this.asksConfidence ? this.confidenceField() : nothing}
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
      case 'claims':
        return this.claims(question.claims, question.pick);
      default:
        return question satisfies never;
    }
  }

  private confidenceField() {
    return html`<label class="line sure">
      <span>How sure are you that this is right?</span>
      <input type="number" min="0" max="100" step="5" aria-label=${`How sure, in percent: ${this.question.text}`}
        .value=${this.confidence === undefined ? '' : String(this.confidence)} @change=${this.onConfidence} />
      <span>%</span>
    </label>`;
  }

  private claims(claims: readonly { id: string; text: string }[], pick: number) {
    const picked = Array.isArray(this.answer) ? (this.answer as readonly string[]) : [];
    return html`
      ${claims.map(
        ({ id, text }) => html`<label class="line">
          <input type="checkbox" .checked=${picked.includes(id)} ?disabled=${!picked.includes(id) && picked.length >= pick}
            @change=${() => {
              const now = picked.includes(id) ? picked.filter((other) => other !== id) : [...picked, id];
              this.tell(now.length > 0 ? now : undefined);
            }} />
          <span>${text}</span>
        </label>`,
      )}
      <p class="soft">Pick at most ${pick}.</p>
    `;
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

  private onConfidence(event: Event): void {
    const { valueAsNumber } = event.target as HTMLInputElement;
    if (!Number.isFinite(valueAsNumber)) return;
    this.dispatchEvent(new CustomEvent('lesson-confidence', { detail: Math.max(0, Math.min(100, valueAsNumber)) }));
  }

  private onNumber(event: Event): void {
    const { valueAsNumber } = event.target as HTMLInputElement;
    this.tell(Number.isFinite(valueAsNumber) ? valueAsNumber : undefined);
  }

  private tell(answer: Answer | undefined): void {
    this.dispatchEvent(new CustomEvent('lesson-answer', { detail: answer }));
  }
}

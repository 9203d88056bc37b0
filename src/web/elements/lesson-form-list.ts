import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { stringify } from 'yaml';
import { type DraftPath, fieldText, fieldValue, type LessonDraft } from '../model/lessonDraft.ts';
import type { FormField, FormList } from '../model/lessonFormParts.ts';
import { sharedStyles } from './sharedStyles.ts';

/** One list of a lesson that is written: its entries with fields, the rest of each as YAML. Tells changes by `draft-change`. */
@customElement('sweep-lesson-form-list')
export class SweepLessonFormList extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .entry { border-left: 2px solid var(--rule); padding: 0.1rem 0 0.3rem 0.6rem; margin: 0.5rem 0; }
      .fields { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 9.5rem), 1fr)); gap: 0.3rem 0.5rem; }
      .fields > label, .wide { display: grid; gap: 0.1rem; font-size: 0.9rem; min-width: 0; align-content: end; }
      .fields > label:first-child { grid-column: 1 / -1; }
      input[type='text'], textarea { width: 100%; min-width: 0; }
      textarea { font-family: ui-monospace, monospace; font-size: 0.82rem; }
      .row { display: flex; flex-wrap: wrap; gap: 0.4rem; margin: 0.3rem 0; }
      .note { font-size: 0.86rem; color: var(--ink-soft); margin: 0.2rem 0; }
      input[aria-invalid='true'], textarea[aria-invalid='true'] { outline: 2px solid var(--flag); }
    `,
  ];

  @property({ attribute: false }) draft!: LessonDraft;
  @property({ attribute: false }) list!: FormList;
  /** The text of the draft: what is shown follows it. */
  @property() text = '';
  /** The key that is refused, with dots; empty for none. */
  @property() refused = '';

  override render() {
    const { list, draft } = this;
    const found = draft.valueAt([list.key]);
    const entries = Array.isArray(found) ? found : [];
    return html`
      <p class="note">${list.note}</p>
      ${entries.map((entry, k) => this.entry(entry, k))}
      <div class="row">${Object.entries(list.fresh).map(
        ([kind, fresh]) => html`<button @click=${() => this.change(() => draft.add([list.key], fresh))}>
          Add a ${list.one}${kind === list.one ? '' : `: ${kind}`}</button>`,
      )}</div>
    `;
  }

  private entry(entry: unknown, k: number) {
    const { list, draft } = this;
    if (typeof entry !== 'object' || entry === null)
      return html`<p class="note">See the YAML text: ${String(entry)}</p>`;
    const document = entry as Record<string, unknown>;
    const kinds = Object.keys(list.fresh);
    const fresh = list.fresh[String(document.kind)] ?? {};
    const shown = list.fields.filter(({ key }) => kinds.length === 1 || key in document || key in fresh);
    const rest = Object.fromEntries(
      Object.entries(document).filter(([key]) => key !== 'kind' && !shown.some((field) => field.key === key)),
    );
    const place = `${list.one} ${k + 1}`;
    return html`<div class="entry" role="group" aria-label=${place}>
      <div class="fields">${shown.map((field) => this.field(field, document[field.key], k))}</div>
      ${
        Object.keys(rest).length === 0
          ? nothing
          : html`<label class="wide">The rest of it, YAML
              <textarea rows=${Math.min(14, stringify(rest).split('\n').length)} spellcheck="false" id=${`${list.key}-${k}-rest`}
                aria-invalid=${Object.keys(rest).some((key) => this.isRefused([list.key, k, key]))} .value=${stringify(rest, { lineWidth: 0 })}
                @change=${(event: Event) => this.takeRest(event, k, Object.keys(rest))}></textarea></label>`
      }
      <div class="row"><button aria-label=${`Take out ${place}`} @click=${() => this.change(() => draft.set([list.key, k], undefined))}>Take out</button></div>
    </div>`;
  }

  private field({ key, label, as }: FormField, value: unknown, k: number) {
    const path = [this.list.key, k, key];
    return html`<label>${label}
      <input type="text" id=${path.join('-')} .value=${fieldText(value)} aria-invalid=${this.isRefused(path)}
        @change=${(event: Event) => {
          const { value: text } = event.target as HTMLInputElement;
          this.change(() => this.draft.set(path, as === 'words' ? text || undefined : fieldValue(text)));
        }} /></label>`;
  }

  private takeRest(event: Event, k: number, before: readonly string[]): void {
    const taken = fieldValue((event.target as HTMLTextAreaElement).value) ?? {};
    this.change(() => {
      if (typeof taken !== 'object' || taken === null || Array.isArray(taken)) {
        throw new RangeError(`${this.list.one} ${k + 1}: the rest must be keys with values`);
      }
      for (const key of before) if (!(key in taken)) this.draft.set([this.list.key, k, key], undefined);
      for (const [key, value] of Object.entries(taken)) this.draft.set([this.list.key, k, key], value);
    });
  }

  private isRefused(path: DraftPath): boolean {
    const place = path.join('.');
    return this.refused === place || this.refused.startsWith(`${place}.`);
  }

  private change(work: () => void): void {
    let problem: string | null = null;
    try {
      work();
    } catch (error) {
      problem = (error as Error).message;
    }
    this.dispatchEvent(new CustomEvent('draft-change', { detail: { problem } }));
  }
}

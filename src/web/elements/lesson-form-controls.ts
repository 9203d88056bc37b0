import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { controlGroups } from '../model/controls.ts';
import type { LessonDraft } from '../model/lessonDraft.ts';
import { sharedStyles } from './sharedStyles.ts';

const states = ['locked', 'free', 'hidden'] as const;
type ControlState = (typeof states)[number];

/** Every control of the bench: locked, free or hidden while the lesson is on. Tells changes by `draft-change`. */
@customElement('sweep-lesson-form-controls')
export class SweepLessonFormControls extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .line { display: flex; gap: 0.5rem; justify-content: space-between; align-items: center; padding: 0.15rem 0; font-size: 0.9rem; }
      .note { font-size: 0.86rem; color: var(--ink-soft); }
      details { border-top: 1px solid var(--rule); padding: 0.2rem 0; }
    `,
  ];

  @property({ attribute: false }) draft!: LessonDraft;
  @property() text = '';

  override render() {
    const own = this.settingPaths();
    return html`
      <p class="note">What a setting frees is free and marked. Here the others: free is to play with and not marked, hidden is out of sight.</p>
      ${controlGroups.map(({ title, entries }) => {
        const touched = entries.filter(([path]) => own.has(path) || this.stateOf(path) !== 'locked').length;
        return html`<details>
          <summary>${title}${touched > 0 ? ` (${touched} not locked)` : ''}</summary>
          ${entries.map(([path, label]) => {
            const state = this.stateOf(path);
            return html`<div class="line"><label for=${path}>${label}</label>${
              own.has(path)
                ? html`<span class="soft" id=${path}>a setting</span>`
                : html`<select id=${path} @change=${(event: Event) => this.choose(path, (event.target as HTMLSelectElement).value as ControlState)}>
                    ${states.map((entry) => html`<option ?selected=${entry === state}>${entry}</option>`)}</select>`
            }</div>`;
          })}
        </details>`;
      })}
    `;
  }

  private stateOf(path: string): ControlState {
    if (this.paths('free').includes(path)) return 'free';
    return this.paths('hidden').some((place) => path === place || path.startsWith(`${place}.`)) ? 'hidden' : 'locked';
  }

  private paths(which: 'free' | 'hidden'): string[] {
    const found = this.draft.valueAt(['controls', which]);
    return Array.isArray(found) ? found.map(String) : [];
  }

  private settingPaths(): Set<string> {
    const settings = this.draft.valueAt(['settings']);
    return new Set(Array.isArray(settings) ? settings.flatMap((setting) => setting?.path ?? []) : []);
  }

  private choose(path: string, state: ControlState): void {
    const [section] = path.split('.');
    const entries = controlGroups.flatMap((group) => group.entries.map(([entry]) => entry));
    // A section that was hidden as a whole is taken apart, so that one of its controls can be shown.
    const hidden = this.paths('hidden')
      .flatMap((place) => (place === section ? entries.filter((entry) => entry.startsWith(`${place}.`)) : [place]))
      .filter((place) => place !== path);
    const lists = {
      free: this.paths('free').filter((entry) => entry !== path),
      hidden,
    };
    if (state !== 'locked') lists[state].push(path);
    const filled = Object.entries(lists).filter(([, paths]) => paths.length > 0);
    this.draft.set(['controls'], filled.length > 0 ? Object.fromEntries(filled) : undefined);
    this.dispatchEvent(new CustomEvent('draft-change', { detail: { problem: null } }));
  }
}

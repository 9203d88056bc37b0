import { css, html, LitElement } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Bench } from '../model/bench.ts';
import { browserStorage, LessonAttempt } from '../model/lessonAttempt.ts';
import { type LibraryLesson, lessonLibrary } from '../model/lessonLibrary.ts';
import './lesson-player.ts';
import { sharedStyles } from './sharedStyles.ts';

/** The lessons of the lab, and the one that is open. */
@customElement('sweep-lesson-list')
export class SweepLessonList extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      ul { margin: 0.5rem 0; padding: 0; list-style: none; }
      li { padding: 0.7rem 0; border-top: 1px solid var(--rule); }
      li p { margin: 0.2rem 0 0.5rem; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private open: LibraryLesson | null = null;
  private readonly items = lessonLibrary().map((item) => ({
    item,
    attempt: new LessonAttempt(item.lesson, browserStorage()),
  }));

  override render() {
    const open = this.items.find(({ item }) => item === this.open);
    if (open) {
      return html`<sweep-lesson-player .bench=${this.bench} .item=${open.item} .attempt=${open.attempt}
        @lesson-leave=${() => this.show(null)}></sweep-lesson-player>`;
    }
    return html`
      <p class="soft">Predict, run, compare, explain. Marks come from patients whom you have not seen.</p>
      <ul>
        ${this.items.map(({ item, attempt }) => {
          const { title, summary, minutes, id } = item.lesson;
          const state = attempt.mark ? `${attempt.mark.points} of 100` : attempt.begun ? 'begun' : `${minutes} minutes`;
          return html`<li>
            <h2>${title}</h2>
            <p>${summary}</p>
            <button id=${`open-${id}`} @click=${() => this.show(item)} aria-label=${`${attempt.begun ? 'Go on with' : 'Begin'} ${title}`}>
              ${attempt.begun ? 'Go on' : 'Begin'}</button>
            <span class="soft">${state}</span>
          </li>`;
        })}
      </ul>
    `;
  }

  private show(item: LibraryLesson | null): void {
    this.open = item;
  }
}

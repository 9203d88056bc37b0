import { css, html, LitElement } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { type LineHz, lineFrequenciesHz } from '../../lessons/atLine.ts';
import type { Bench } from '../model/bench.ts';
import { LessonAttempt } from '../model/lessonAttempt.ts';
import { type LibraryLesson, lessonLibrary } from '../model/lessonLibrary.ts';
import { browserStore } from '../model/lessonStore.ts';
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
      .top { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0.4rem 1rem; margin-top: 0.5rem; }
      li p { margin: 0.2rem 0 0.5rem; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private lineHz: LineHz = 50;
  @state() private open: string | null = null;
  private readonly store = browserStore();
  /** By supply: each has its own variant of every lesson, and its own attempts. */
  private readonly entries = new Map<LineHz, Entry[]>();

  override connectedCallback(): void {
    super.connectedCallback();
    void this.choose(this.lineHz);
  }

  override render() {
    const entries = this.entries.get(this.lineHz) ?? [];
    const open = entries.find(({ item }) => item.lesson.id === this.open);
    if (open) {
      return html`<sweep-lesson-player .bench=${this.bench} .item=${open.item} .attempt=${open.attempt}
        @lesson-leave=${() => this.show(null)}></sweep-lesson-player>`;
    }
    const marked = entries.filter(({ attempt }) => attempt.mark).length;
    return html`
      <p class="soft">Predict, run, compare, explain. Marks come from patients whom you have not seen.</p>
      <div class="top">
        <span>${marked} of ${entries.length} lessons marked</span>
        <label>Supply <select id="line-hz" @change=${this.onLine}>
          ${lineFrequenciesHz.map((hz) => html`<option value=${hz} ?selected=${hz === this.lineHz}>${hz} Hz</option>`)}
        </select></label>
      </div>
      <ul>${entries.map((entry) => this.line(entry))}</ul>
    `;
  }

  private line({ item, attempt }: Entry) {
    const { title, summary, minutes, id, bundles } = item.lesson;
    const state = attempt.mark ? `${attempt.mark.points} of 100` : attempt.begun ? 'begun' : `${minutes} minutes`;
    const inBundles = bundles.map((bundle) => ` · ${bundleNames[bundle]}`).join('');
    return html`<li>
      <h2>${title}</h2>
      <p>${summary}</p>
      <button id=${`open-${id}`} @click=${() => this.show(id)} aria-label=${`${attempt.begun ? 'Go on with' : 'Begin'} ${title}`}>
        ${attempt.begun ? 'Go on' : 'Begin'}</button>
      <span class="soft">${state}${inBundles}</span>
    </li>`;
  }

  private show(id: string | null): void {
    this.open = id;
  }

  private readonly onLine = (event: Event): void => {
    void this.choose((event.target as HTMLSelectElement).value === '60' ? 60 : 50);
  };

  private async choose(lineHz: LineHz): Promise<void> {
    let entries = this.entries.get(lineHz);
    if (!entries) {
      entries = lessonLibrary(lineHz).map((item) => ({ item, attempt: new LessonAttempt(item.lesson, this.store) }));
      await Promise.all(entries.map(({ attempt }) => attempt.restore()));
      this.entries.set(lineHz, entries);
    }
    this.lineHz = lineHz;
    this.requestUpdate();
  }
}

interface Entry {
  item: LibraryLesson;
  attempt: LessonAttempt;
}

const bundleNames = { 'in-service': 'in-service bundle', engineer: 'engineer bundle' } as const;

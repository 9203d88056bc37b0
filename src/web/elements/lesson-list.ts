import { css, html, LitElement } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { type LineHz, lineFrequenciesHz } from '../../lessons/atLine.ts';
import { type Bundle, bundles, lessonsOf, minutesOf } from '../../lessons/bundles.ts';
import type { Bench } from '../model/bench.ts';
import { LessonAttempt } from '../model/lessonAttempt.ts';
import { type LibraryLesson, lessonLibrary } from '../model/lessonLibrary.ts';
import { browserStore } from '../model/lessonStore.ts';
import './lesson-player.ts';
import { saveFile } from './saveFile.ts';
import { sharedStyles } from './sharedStyles.ts';

/** The lessons of the lab, and the one that is open. */
@customElement('sweep-lesson-list')
export class SweepLessonList extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      ul, ol { margin: 0.5rem 0; padding: 0; list-style: none; }
      progress { width: 100%; margin-top: 0.5rem; accent-color: var(--ink); }
      li { padding: 0.7rem 0; border-top: 1px solid var(--rule); }
      .top { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0.4rem 1rem; margin-top: 0.5rem; }
      .desks { display: flex; flex-wrap: wrap; gap: 0.4rem; margin: 0.5rem 0; }
      .quiet { float: right; border-color: transparent; text-decoration: underline; text-underline-offset: 3px; font-size: 0.9rem; }
      li p { margin: 0.2rem 0 0.5rem; }
      ul + h2, .top + h2 { margin-top: 1rem; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @state() private lineHz: LineHz = 50;
  @state() private open: string | null = null;
  /** The bundle whose page is shown; null for the whole list. */
  @state() private bundle: Bundle | null = null;
  /** What of the instructor's is open, once its code is there. */
  @state() private desk: Desk | null = null;
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
    if (this.desk !== null) return this.deskPage(this.desk);
    return this.bundle ? this.bundlePage(this.bundle, entries) : this.wholeList(entries);
  }

  private wholeList(entries: Entry[]) {
    return html`
      <p class="soft">Predict, run, compare, explain. Marks come from patients whom you have not seen.</p>
      <div class="top">
        <span>${markedOf(entries)} of ${entries.length} lessons marked</span>
        <label>Supply <select id="line-hz" @change=${this.onLine}>
          ${lineFrequenciesHz.map((hz) => html`<option value=${hz} ?selected=${hz === this.lineHz}>${hz} Hz</option>`)}
        </select></label>
      </div>
      <h2>Bundles</h2>
      <ul>${bundles.map((bundle) => this.bundleLine(bundle, lessonsIn(bundle, entries)))}</ul>
      <h2>All lessons</h2>
      <ul>${entries.map((entry) => this.line(entry))}</ul>
      <h2>For instructors</h2>
      <div class="desks">
        <button id="desk-class" @click=${() => this.showDesk('class')}>Report on a class</button>
        <button id="desk-form" @click=${() => this.showDesk('form')}>Write a lesson</button>
      </div>
    `;
  }

  private deskPage(desk: Desk) {
    return html`
      <div class="top"><span></span><button id="all-lessons" @click=${() => this.showDesk(null)}>All lessons</button></div>
      ${desk === 'class' ? html`<sweep-class-report .bench=${this.bench}></sweep-class-report>` : html`<sweep-lesson-form .bench=${this.bench}></sweep-lesson-form>`}
    `;
  }

  /** Few visits are an instructor's: the code comes when it is asked for. */
  private async showDesk(desk: Desk | null): Promise<void> {
    if (desk === 'class') await import('./class-report.ts');
    if (desk === 'form') await import('./lesson-form.ts');
    this.desk = desk;
  }

  private bundleLine(bundle: Bundle, entries: Entry[]) {
    return html`<li>
      <h3>${bundle.title}</h3>
      <p>${bundle.summary}</p>
      <button id=${`bundle-${bundle.id}`} @click=${() => this.showBundle(bundle)}
        aria-label=${`Open the bundle ${bundle.title}`}>Open</button>
      <span class="soft">${progressOf(entries)}</span>
    </li>`;
  }

  /** A bundle on its own: its lessons in order, how far the learner is, and the next one to do. */
  private bundlePage(bundle: Bundle, all: Entry[]) {
    const entries = lessonsIn(bundle, all);
    const next = entries.find(({ attempt }) => !attempt.mark);
    return html`
      <div class="top">
        <h2>${bundle.title}</h2>
        <button id="all-lessons" @click=${() => this.showBundle(null)}>All lessons</button>
      </div>
      <p>${bundle.summary}</p>
      <p class="soft" role="status">${progressOf(entries)}${next ? `. Next: ${next.item.lesson.title}.` : '. All done.'}</p>
      <progress max=${entries.length} value=${markedOf(entries)} aria-label=${`Progress in ${bundle.title}`}></progress>
      <ol>${entries.map((entry) => this.line(entry))}</ol>
    `;
  }

  private line({ item, attempt }: Entry) {
    const { title, summary, minutes, id } = item.lesson;
    const state = attempt.mark ? `${attempt.mark.points} of 100` : attempt.begun ? 'begun' : `${minutes} minutes`;
    return html`<li>
      <h3>${title}</h3>
      <p>${summary}</p>
      <button id=${`open-${id}`} @click=${() => this.show(id)} aria-label=${`${attempt.begun ? 'Go on with' : 'Begin'} ${title}`}>
        ${attempt.begun ? 'Go on' : 'Begin'}</button>
      <span class="soft">${state}</span>
      <button class="quiet" id=${`handout-${id}`} @click=${() => this.saveHandout(item)} aria-label=${`Handout of ${title}, to print`}
        title="One page with the texts and an answer sheet, to print">Handout</button>
    </li>`;
  }

  private async saveHandout(item: LibraryLesson): Promise<void> {
    const { handout } = await import('../../lessons/handout.ts');
    const { id, lineHz } = item.lesson;
    saveFile(`${id}-${lineHz}-hz-handout.html`, new Blob([handout(item)], { type: 'text/html' }));
  }

  private showBundle(bundle: Bundle | null): void {
    this.bundle = bundle;
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

type Desk = 'class' | 'form';

interface Entry {
  item: LibraryLesson;
  attempt: LessonAttempt;
}

function lessonsIn(bundle: Bundle, entries: readonly Entry[]): Entry[] {
  const inOrder = lessonsOf(
    bundle,
    entries.map(({ item }) => item),
  );
  return inOrder.flatMap((item) => entries.filter((entry) => entry.item === item));
}

function markedOf(entries: readonly Entry[]): number {
  return entries.filter(({ attempt }) => attempt.mark).length;
}

function progressOf(entries: readonly Entry[]): string {
  const minutes = minutesOf(entries.map(({ item }) => item));
  return `${markedOf(entries)} of ${entries.length} lessons marked, ${minutes} minutes in all`;
}

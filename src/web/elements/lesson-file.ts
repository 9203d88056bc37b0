import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { version } from '../../../package.json';
import { readAttemptFile } from '../../lessons/attemptFile.ts';
import type { LessonAttempt } from '../model/lessonAttempt.ts';
import { taskInWorker } from '../worker/taskClient.ts';
import { sharedStyles } from './sharedStyles.ts';

/** Saves an attempt as a file, opens one, and says if it is not being kept. Tells of an opened one by `lesson-opened`. */
@customElement('sweep-lesson-file')
export class SweepLessonFile extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      .row { display: flex; flex-wrap: wrap; gap: 0.4rem 0.6rem; align-items: center; margin: 0.6rem 0; }
      input[type='text'] { width: 11rem; max-width: 100%; }
      ul { margin: 0.3rem 0; padding-left: 1.2rem; overflow-wrap: anywhere; }
    `,
  ];

  @property({ attribute: false }) attempt!: LessonAttempt;
  /** Changes with every action, so that what the attempt says now is shown. */
  @property({ type: Number }) eventCount = 0;
  /** Why the attempt is not being kept; null if it is. */
  @property({ attribute: false }) unkept: string | null = null;
  @state() private verdict: { words: string; problems: string[] } | null = null;
  @state() private checking = false;

  override render() {
    const { attempt, unkept, verdict } = this;
    const fixed = attempt.finished || (attempt.predictionsLocked && attempt.lesson.hidden.seeds === 'per-learner');
    return html`
      <div class="row">
        <label>Your name <input type="text" id="learner" maxlength="200" autocomplete="off" ?disabled=${fixed}
          .value=${attempt.learner} @change=${this.onName} /></label>
        <button id="save-attempt" @click=${this.save}>Save attempt</button>
        <button id="open-attempt" ?disabled=${this.checking} @click=${this.ask}>Open attempt</button>
        <input hidden id="attempt-file" type="file" accept=".json,application/json" aria-label="Attempt file" @change=${this.chosen} />
      </div>
      ${
        unkept === null
          ? nothing
          : html`<p class="problem" role="alert">This browser does not keep your attempt (${unkept}). It goes on, but save it
              as a file before you leave.</p>`
      }
      ${this.checking ? html`<p role="status">Replaying the attempt and marking it again.</p>` : nothing}
      ${
        verdict === null
          ? nothing
          : html`<p class=${verdict.problems.length > 0 ? 'problem' : 'soft'} role="status" id="verdict">${verdict.words}</p>
              ${verdict.problems.length > 0 ? html`<ul>${verdict.problems.map((problem) => html`<li>${problem}</li>`)}</ul>` : nothing}`
      }
    `;
  }

  private readonly onName = (event: Event): void => {
    this.attempt.name((event.target as HTMLInputElement).value);
    this.requestUpdate();
  };

  private readonly save = (): void => {
    const { attempt } = this;
    const text = JSON.stringify(attempt.toFile(version), null, 1);
    const address = URL.createObjectURL(new Blob([text], { type: 'application/json' }));
    const link = document.createElement('a');
    link.href = address;
    const whose = attempt.learner.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-|-$/g, '');
    link.download = `${[attempt.lesson.id, whose, attempt.attempt].filter((part) => part !== '').join('-')}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(address), 10_000);
  };

  private readonly ask = (): void => {
    this.renderRoot.querySelector<HTMLInputElement>('#attempt-file')?.click();
  };

  private readonly chosen = async (event: Event): Promise<void> => {
    const input = event.target as HTMLInputElement;
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    this.checking = true;
    this.verdict = null;
    try {
      const opened = readAttemptFile(file.name, await file.text());
      const { problems, notes, mark } = await taskInWorker('verify-attempt', {
        lesson: this.attempt.lesson,
        file: opened,
        program: version,
      });
      if (problems.length === 0) {
        this.attempt.openFile(opened, mark);
        this.verdict = { words: `Good: it replays as it says. ${notes.join('; ')}`.trim(), problems };
        this.dispatchEvent(new CustomEvent('lesson-opened'));
      } else {
        this.verdict = { words: 'Not opened: this file is not what it claims.', problems };
      }
    } catch (error) {
      this.verdict = { words: 'Not opened.', problems: [(error as Error).message] };
    } finally {
      this.checking = false;
    }
  };
}

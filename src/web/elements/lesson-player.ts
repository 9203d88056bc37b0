// Over 300 lines: the five steps of a lesson, one template each, share one attempt and read best side by side.
import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { MarkProgress } from '../../lessons/mark.ts';
import type { Answer } from '../../lessons/markQuestion.ts';
import type { Question, Run } from '../../lessons/schema.ts';
import type { Bench, BenchChange } from '../model/bench.ts';
import type { LessonAttempt, LessonStep } from '../model/lessonAttempt.ts';
import { lessonSteps, refusal } from '../model/lessonAttempt.ts';
import type { LibraryLesson } from '../model/lessonLibrary.ts';
import { markInWorker } from '../model/lessonMarking.ts';
import { BenchController } from './benchController.ts';
import './lesson-mark.ts';
import './lesson-question.ts';
import './lesson-text.ts';
import { sharedStyles } from './sharedStyles.ts';

const stepNames: Record<LessonStep, string> = {
  introduction: 'Read',
  prediction: 'Predict',
  bench: 'Run',
  answers: 'Answer',
  mark: 'Mark',
};

/** One lesson, from its introduction to its mark. Tells that the learner leaves by `lesson-leave`. */
@customElement('sweep-lesson-player')
export class SweepLessonPlayer extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      nav ol { display: flex; flex-wrap: wrap; gap: 0.25rem; margin: 0.5rem 0 0.8rem; padding: 0; list-style: none; }
      nav button[aria-current='step'] { background: var(--ink); color: var(--paper); border-color: var(--ink); }
      .top { display: flex; justify-content: space-between; gap: 1rem; align-items: baseline; }
      .settings { display: grid; gap: 0.4rem; margin: 0.7rem 0; padding: 0.5rem 0; border-top: 1px solid var(--rule); border-bottom: 1px solid var(--rule); }
      .settings label { display: flex; flex-wrap: wrap; gap: 0.3rem 0.6rem; align-items: baseline; }
      .settings input { width: 6.5rem; }
      .runs { display: flex; flex-wrap: wrap; gap: 0.35rem; margin: 0.6rem 0; }
      .go { margin: 0.8rem 0; display: flex; flex-wrap: wrap; gap: 0.5rem; align-items: center; }
      h3 { margin: 0.9rem 0 0.5rem; }
      ul { padding-left: 1.2rem; }
      progress { width: 100%; accent-color: var(--ink); }
      details { margin: 0.3rem 0; }
    `,
  ];

  @property({ attribute: false }) bench!: Bench;
  @property({ attribute: false }) item!: LibraryLesson;
  @property({ attribute: false }) attempt!: LessonAttempt;
  @state() private progress: MarkProgress | null = null;
  @state() private problem: string | null = null;
  private marking: AbortController | null = null;
  private benchRunEnded = false;

  constructor() {
    super();
    new BenchController(this, (change) => this.follow(change));
  }

  override connectedCallback(): void {
    super.connectedCallback();
    if (this.attempt.step === 'bench') this.putOnBench(this.firstRun());
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.marking?.abort();
    this.attempt.leave(this.bench);
  }

  override render() {
    const { attempt } = this;
    const { title } = attempt.lesson;
    return html`
      <div class="top">
        <h2 id="title" tabindex="-1">${title}${attempt.attempt > 1 ? `, attempt ${attempt.attempt}` : ''}</h2>
        <button @click=${() => this.dispatchEvent(new CustomEvent('lesson-leave'))}>All lessons</button>
      </div>
      <nav aria-label="Steps of the lesson">
        <ol>
          ${lessonSteps.map(
            (step, k) => html`<li>
              <button id=${`step-${step}`} ?disabled=${!attempt.isOpen(step)} aria-current=${step === attempt.step ? 'step' : 'false'}
                @click=${() => this.goTo(step)}>${k + 1} ${stepNames[step]}</button>
            </li>`,
          )}
        </ol>
      </nav>
      ${this.problem === null ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}
      ${this.body(attempt.step)}
    `;
  }

  private body(step: LessonStep) {
    switch (step) {
      case 'introduction':
        return this.introduction();
      case 'prediction':
        return this.prediction();
      case 'bench':
        return this.benchStep();
      case 'answers':
        return this.answers();
      case 'mark':
        return this.marked();
      default:
        return step satisfies never;
    }
  }

  private introduction() {
    const { objectives, outOfScope, prerequisites, minutes } = this.attempt.lesson;
    const list = (items: readonly string[]) => html`<ul>${items.map((entry) => html`<li>${entry}</li>`)}</ul>`;
    return html`
      <sweep-lesson-text .markdown=${this.item.introduction}></sweep-lesson-text>
      <details>
        <summary>What you will be able to do, in about ${minutes} minutes</summary>
        ${list(objectives)}
        ${prerequisites.length > 0 ? html`<p>You should know:</p>${list(prerequisites)}` : nothing}
        <p>Not in this lesson:</p>${list(outOfScope)}
      </details>
      <div class="go"><button class="primary" id="to-prediction" @click=${() => this.goTo('prediction')}>Predict first</button></div>
    `;
  }

  private prediction() {
    const { attempt } = this;
    const { predictions } = attempt.lesson;
    const open = predictions.filter(({ id }) => attempt.answers[id] === undefined).length;
    return html`
      <p class="soft">Before you run anything. A prediction that is locked stays, right or wrong; being wrong is how it teaches.</p>
      <h3>Your predictions</h3>
      ${this.questions(predictions, attempt.predictionsLocked)}
      ${
        attempt.predictionsLocked
          ? html`<p class="soft">Locked.</p>`
          : html`<div class="go">
              <button class="primary" id="lock" @click=${this.lockPredictions}>Lock them and go to the bench</button>
              <span class="soft">${open > 0 ? `${open} still open: no points for those` : 'all given'}</span>
            </div>`
      }
    `;
  }

  private benchStep() {
    const { attempt, bench } = this;
    const runs = attempt.lesson.runs.filter((run) => run.bench);
    const ended = this.benchRunEnded || bench.state === 'finished';
    return html`
      <sweep-lesson-text .markdown=${this.item.tasks}></sweep-lesson-text>
      <h3>Put on the bench</h3>
      <div class="runs">
        ${runs.map(
          (run) =>
            html`<button aria-pressed=${run === attempt.benchRun} @click=${() => this.putOnBench(run)}>${upperFirst(run.title)}</button>`,
        )}
      </div>
      ${this.settings()}
      <details>
        <summary>Hints</summary>
        ${this.item.hints.map(
          (hint, k) =>
            html`<details><summary>Hint ${k + 1}</summary><sweep-lesson-text .markdown=${hint}></sweep-lesson-text></details>`,
        )}
      </details>
      <div class="go">
        ${
          attempt.unsealed
            ? html`<button class="primary" id="to-answers" @click=${() => this.goTo('answers')}>Answer the questions</button>`
            : html`<button class="primary" id="unseal" ?disabled=${!ended} @click=${this.unseal}>
                  Break the seal</button>
                <span class="soft">${ended ? 'The truth is one press away.' : 'The truth is sealed until a run has ended; the speed is yours.'}</span>`
        }
      </div>
    `;
  }

  private settings() {
    const { attempt } = this;
    return html`<div class="settings" role="group" aria-labelledby="settings-title">
      <strong id="settings-title">Your settings</strong>
      ${attempt.lesson.settings.map(
        ({ id, text, unit, minimum, maximum }) => html`<label>
          <span>${text}</span>
          <span><input type="number" id=${`setting-${id}`} step="any" min=${minimum} max=${maximum} ?disabled=${attempt.mark !== null}
            .value=${String(attempt.settings[id])} @change=${(event: Event) => this.onSetting(id, event)} /> ${unit}
            <span class="soft">(${minimum} to ${maximum})</span></span>
        </label>`,
      )}
      <span class="soft">These are what the hidden patients are run with.</span>
    </div>`;
  }

  private answers() {
    const { attempt } = this;
    const { measurements, explanations, runs, hidden } = attempt.lesson;
    const done = attempt.mark !== null;
    return html`
      <h3>What you measured</h3>
      ${this.questions(measurements, done)}
      <h3>Why</h3>
      ${this.questions(explanations, done)}
      ${this.settings()}
      ${
        done
          ? nothing
          : this.progress
            ? html`<div role="status">
                <progress max="1" .value=${this.progress.fraction} aria-label="Marking"></progress>
                <p>Running ${hidden.replicates} hidden patients: ${this.progress.title}</p>
                <button @click=${() => this.marking?.abort()}>Stop</button>
              </div>`
            : html`<div class="go">
                <button class="primary" id="mark-it" @click=${this.markIt}>Mark my attempt</button>
                <span class="soft">Your settings are run on hidden patients, some ${runs.length} runs: a few seconds.</span>
              </div>`
      }
    `;
  }

  private marked() {
    const { attempt } = this;
    return html`
      ${attempt.mark ? html`<sweep-lesson-mark .mark=${attempt.mark}></sweep-lesson-mark>` : nothing}
      <h3>Looking back</h3>
      <sweep-lesson-text .markdown=${attempt.lesson.debrief.join('\n\n')}></sweep-lesson-text>
      <div class="go"><button id="again" @click=${this.startAgain}>Try again, with other hidden patients</button></div>
    `;
  }

  private questions(questions: readonly Question[], locked: boolean) {
    return questions.map(
      (
        question,
      ) => html`<sweep-lesson-question .question=${question} .answer=${this.attempt.answers[question.id]} ?locked=${locked}
        @lesson-answer=${(event: CustomEvent<Answer | undefined>) => {
          this.attempt.answer(question, event.detail);
          this.requestUpdate();
        }}></sweep-lesson-question>`,
    );
  }

  private goTo(step: LessonStep): void {
    this.attempt.goTo(step);
    this.problem = null;
    if (step === 'bench' && this.attempt.benchRun === null) this.putOnBench(this.firstRun());
    this.requestUpdate();
    // The learner who uses keys or a reader starts the new step at its title.
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>('#title')?.focus());
  }

  private readonly lockPredictions = (): void => {
    this.attempt.lockPredictions();
    this.goTo('bench');
  };

  private putOnBench(run: Run): void {
    this.attempt.putOnBench(run, this.bench);
    this.requestUpdate();
  }

  private firstRun(): Run {
    return this.attempt.lesson.runs.find((run) => run.bench) as Run;
  }

  private follow(change: BenchChange): void {
    if (change === 'settings') this.problem = this.attempt.follow(this.bench);
    if (this.attempt.benchRun !== null && this.bench.state === 'finished') this.benchRunEnded = true;
  }

  private onSetting(id: string, event: Event): void {
    const input = event.target as HTMLInputElement;
    const setting = this.attempt.lesson.settings.find((entry) => entry.id === id);
    const { valueAsNumber } = input;
    this.attempt.set(id, valueAsNumber, this.bench);
    const kept = !setting || this.attempt.settings[id] === valueAsNumber;
    this.problem = kept ? null : refusal(setting, input.value || 'nothing');
    input.value = String(this.attempt.settings[id]);
    this.requestUpdate();
  }

  private readonly unseal = (): void => {
    this.attempt.unseal(this.bench);
    this.requestUpdate();
  };

  private readonly markIt = async (): Promise<void> => {
    const { attempt } = this;
    const { lesson, attemptSeed, settings, answers } = attempt;
    this.problem = null;
    this.bench.pause(); // the hidden patients need the processor
    this.progress = { title: '', fraction: 0 };
    this.marking = new AbortController();
    const { signal } = this.marking;
    try {
      const report = (progress: MarkProgress) => {
        this.progress = progress;
      };
      const mark = await markInWorker(lesson, { attemptSeed, settings, answers }, report, signal);
      attempt.finish(mark);
      this.goTo('mark');
    } catch (error) {
      if (!signal.aborted) this.problem = (error as Error).message;
    } finally {
      this.progress = null;
      this.marking = null;
    }
  };

  private readonly startAgain = (): void => {
    this.attempt.startAgain();
    this.attempt.leave(this.bench);
    this.benchRunEnded = false;
    this.goTo('introduction');
  };
}

function upperFirst(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

// Over 300 lines: the five steps of a lesson, one template each, share one attempt and read best side by side.
import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { MarkProgress } from '../../lessons/mark.ts';
import type { Answer } from '../../lessons/markQuestion.ts';
import type { Question, Run } from '../../lessons/schema.ts';
import type { Bench, BenchChange } from '../model/bench.ts';
import type { LessonAttempt, LessonStep } from '../model/lessonAttempt.ts';
import { lessonSteps } from '../model/lessonAttempt.ts';
import type { LibraryLesson } from '../model/lessonLibrary.ts';
import { taskInWorker } from '../worker/taskClient.ts';
import { BenchController } from './benchController.ts';
import './lesson-file.ts';
import './lesson-mark.ts';
import './lesson-question.ts';
import type { SettingChange } from './lesson-settings.ts';
import './lesson-settings.ts';
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
      textarea { width: 100%; min-height: 8rem; }
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
      ${this.timeLeft()}
      ${this.problem === null ? nothing : html`<p class="problem" role="alert" id="problem">${this.problem}</p>`}
      ${this.body(attempt.step)}
      <sweep-lesson-file .attempt=${attempt} .eventCount=${attempt.eventCount} .unkept=${attempt.unkept} @lesson-opened=${this.opened}></sweep-lesson-file>
    `;
  }

  private timeLeft() {
    const { minutesLeft } = this.attempt;
    if (minutesLeft === null) return nothing;
    return html`<p class=${minutesLeft < 5 ? 'problem' : 'soft'}>${
      minutesLeft > 0 ? `${Math.ceil(minutesLeft)} minutes left` : 'The time is over: hand in what you have.'
    }</p>`;
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
      ${this.limits()}
      <div class="go"><button class="primary" id="to-prediction" @click=${() => this.goTo('prediction')}>Predict first</button></div>
    `;
  }

  /** What this lesson limits, said before anything is done. */
  private limits() {
    const { attemptLimit, timeLimitMinutes, hidden } = this.attempt.lesson;
    const words = [
      ...(attemptLimit === undefined ? [] : [`This is attempt ${this.attempt.attempt} of ${attemptLimit}.`]),
      ...(timeLimitMinutes === undefined ? [] : [`You have ${timeLimitMinutes} minutes from your first answer.`]),
      ...(hidden.seeds === 'per-learner'
        ? ['Your name decides your hidden patients: give it before you predict.']
        : []),
    ];
    return words.length > 0 ? html`<p id="limits">${words.join(' ')}</p>` : nothing;
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
    const left = attempt.evaluationsLeft;
    return html`
      <sweep-lesson-text .markdown=${this.item.tasks}></sweep-lesson-text>
      <h3>Put on the bench</h3>
      <div class="runs">
        ${runs.map(
          (run) =>
            html`<button aria-pressed=${run === attempt.benchRun} @click=${() => this.putOnBench(run)}>${upperFirst(run.title)}</button>`,
        )}
      </div>
      ${left === null ? '' : html`<p class="soft" role="status">${left} evaluations left: each pair of a run and its settings is one.</p>`}
      ${this.settings()}
      ${this.hints()}
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

  private hints() {
    const { attempt } = this;
    const { hintCostPoints: cost } = attempt.lesson;
    return html`<details ?open=${attempt.hints.length > 0}>
      <summary>Hints</summary>
      <p class="soft">${cost > 0 && !attempt.finished ? `Each costs ${cost} ${cost === 1 ? 'point' : 'points'}, once.` : 'They cost nothing now.'}</p>
      <ol>${this.item.hints.map(
        (hint, k) =>
          html`<li>${
            attempt.hints.includes(k) || attempt.finished
              ? html`<sweep-lesson-text .markdown=${hint}></sweep-lesson-text>`
              : html`<button id=${`hint-${k + 1}`} @click=${() => this.tell(attempt.openHint(k))}>Open hint ${k + 1}</button>`
          }</li>`,
      )}</ol>
    </details>`;
  }

  private settings() {
    const { attempt } = this;
    return html`<sweep-lesson-settings .settings=${attempt.lesson.settings} .values=${attempt.settings} ?locked=${attempt.finished}
      @lesson-setting=${({ detail: { id, value } }: CustomEvent<SettingChange>) =>
        this.tell(attempt.set(id, value, this.bench))}></sweep-lesson-settings>`;
  }

  private essay() {
    const { attempt } = this;
    const { prompt, minimumWords, maximumWords, rubric } = attempt.lesson.essay;
    const words = attempt.text.split(/\s+/).filter((word) => word !== '').length;
    return html`
      <h3 id="essay-title">In your own words</h3>
      <p>${prompt}</p>
      <textarea id="essay" aria-labelledby="essay-title" ?disabled=${attempt.finished} .value=${attempt.text}
        @change=${(event: Event) => this.tell(attempt.write((event.target as HTMLTextAreaElement).value))}></textarea>
      <p class="soft">${words} words of ${minimumWords} to ${maximumWords}. Your instructor marks it; the program keeps it and gives no points for it.</p>
      ${attempt.mark ? html`<p>What a good text has:</p><ul>${rubric.map((line) => html`<li>${line}</li>`)}</ul>` : nothing}
    `;
  }

  private answers() {
    const { attempt } = this;
    const { measurements, explanations, runs, hidden } = attempt.lesson;
    const done = attempt.finished;
    return html`
      <h3>What you measured</h3>
      ${this.questions(measurements, done)}
      <h3>Why</h3>
      ${this.questions(explanations, done)}
      ${this.essay()}
      ${this.settings()}
      ${
        attempt.mark !== null
          ? nothing
          : this.progress
            ? html`<div role="status">
                <progress max="1" .value=${this.progress.fraction} aria-label="Marking"></progress>
                <p>Running ${hidden.replicates} hidden patients: ${this.progress.title}</p>
                <button @click=${() => this.marking?.abort()}>Stop</button>
              </div>`
            : html`<div class="go">
                <button class="primary" id="mark-it" @click=${this.markIt}>Hand in and mark</button>
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
      <details>
        <summary>A model answer</summary>
        <sweep-lesson-text .markdown=${this.item.modelAnswer}></sweep-lesson-text>
      </details>
      ${
        attempt.mayStartAgain
          ? html`<div class="go"><button id="again" @click=${this.startAgain}>${
              attempt.lesson.hidden.seeds === 'shared' ? 'Try again' : 'Try again, with other hidden patients'
            }</button></div>`
          : html`<p class="soft">This was the last attempt that this lesson allows.</p>`
      }
    `;
  }

  private questions(questions: readonly Question[], locked: boolean) {
    return questions.map(
      (
        question,
      ) => html`<sweep-lesson-question .question=${question} .answer=${this.attempt.answers[question.id]} ?locked=${locked}
        ?asksConfidence=${this.attempt.lesson.confidencePoints > 0 && this.attempt.lesson.predictions.includes(question)}
        .confidence=${this.attempt.confidence[question.id]}
        @lesson-confidence=${(event: CustomEvent<number>) => this.tell(this.attempt.setConfidence(question, event.detail))}
        @lesson-answer=${(event: CustomEvent<Answer | undefined>) => this.tell(this.attempt.answer(question, event.detail))}></sweep-lesson-question>`,
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

  /** Shows why something was not taken, if it was not; and, once it is known, whether it is being kept. */
  private tell(problem: string | null): void {
    this.problem = problem;
    this.requestUpdate();
    void this.attempt.kept().then(() => this.requestUpdate());
  }

  private readonly opened = (): void => {
    this.goTo(this.attempt.step);
  };

  private readonly lockPredictions = (): void => {
    const problem = this.attempt.lockPredictions();
    if (problem === null) this.goTo('bench');
    this.tell(problem);
  };

  private putOnBench(run: Run): void {
    this.tell(this.attempt.putOnBench(run, this.bench));
    this.requestUpdate();
  }

  private firstRun(): Run {
    return this.attempt.lesson.runs.find((run) => run.bench) as Run;
  }

  private follow(change: BenchChange): void {
    if (change === 'settings') this.problem = this.attempt.follow(this.bench);
    if (this.attempt.benchRun !== null && this.bench.state === 'finished') this.benchRunEnded = true;
  }

  private readonly unseal = (): void => {
    this.tell(this.attempt.unseal(this.bench));
  };

  private readonly markIt = async (): Promise<void> => {
    const { attempt } = this;
    this.problem = attempt.handIn();
    if (this.problem !== null) return;
    this.bench.pause(); // the hidden patients need the processor
    this.progress = { title: '', fraction: 0 };
    this.marking = new AbortController();
    const { signal } = this.marking;
    try {
      const report = (progress: MarkProgress) => {
        this.progress = progress;
      };
      const mark = await taskInWorker(
        'mark-attempt',
        { lesson: attempt.lesson, attempt: attempt.handedIn },
        report,
        signal,
      );
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
    this.tell(null);
    this.attempt.leave(this.bench);
    this.benchRunEnded = false;
    this.goTo('introduction');
  };
}

function upperFirst(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

import { DEFAULT_PRESET, preset } from '../../core/scenario/presets.ts';
import { type AttemptFile, attemptFile, eventsOf, lessonDigest } from '../../lessons/attemptFile.ts';
import { type AttemptEvent, type AttemptState, afterEvent, attemptOf, freshState } from '../../lessons/attemptLog.ts';
import { BENCH_SEED, changeOf, documentOf, settingOf, settingRule } from '../../lessons/lessonRun.ts';
import type { Attempt, LessonMark } from '../../lessons/mark.ts';
import type { Answer } from '../../lessons/markQuestion.ts';
import type { Lesson, Question, Run, Setting } from '../../lessons/schema.ts';
import { learnerSeed } from '../../lessons/verifyAttempt.ts';
import type { Bench } from './bench.ts';
import type { AttemptRecord, LessonStore } from './lessonStore.ts';
import { laneLetters } from './narration.ts';

/** The steps of a lesson, in order. */
export const lessonSteps = ['introduction', 'prediction', 'bench', 'answers', 'mark'] as const;
export type LessonStep = (typeof lessonSteps)[number];

// Over 300 lines: events, clock, bench and storage of one attempt must stay in step.

/** Leaves an event without its time, kind by kind. */
type Untimed<Event> = Event extends { atS: number } ? Omit<Event, 'atS'> : never;

/**
 * One learner's way through one lesson, as a list of events.
 *
 * Every change is an event that the rules of `attemptLog` allow; one that they do not allow changes nothing and is
 * told as a problem. Each is kept in the store at once, so that a crash loses none. If the store refuses, `unkept` says
 * why, the attempt goes on, and it can still be saved as a file.
 */
export class LessonAttempt {
  readonly lesson: Lesson;
  private readonly store: LessonStore;
  private readonly clockMs: () => number;
  private record: AttemptRecord;
  private state: AttemptState;
  /** The run on the bench; null before one was put there. */
  benchRun: Run | null = null;
  /** Why the attempt is not being kept; null if it is. */
  unkept: string | null = null;
  private saving: Promise<void> = Promise.resolve();

  constructor(lesson: Lesson, store: LessonStore, clockMs: () => number = Date.now) {
    this.lesson = lesson;
    this.store = store;
    this.clockMs = clockMs;
    this.record = this.freshRecord(1, '');
    this.state = freshState(lesson);
  }

  get step(): LessonStep {
    return this.record.step as LessonStep;
  }
  get attempt(): number {
    return this.record.attempt;
  }
  get learner(): string {
    return this.record.learner;
  }
  get predictionsLocked(): boolean {
    return this.state.predictionsLocked;
  }
  get unsealed(): boolean {
    return this.state.unsealed;
  }
  get settings(): AttemptState['settings'] {
    return this.state.settings;
  }
  get answers(): AttemptState['answers'] {
    return this.state.answers;
  }
  get confidence(): AttemptState['confidence'] {
    return this.state.confidence;
  }
  /** Evaluations that are left; null where the lesson sets no limit. */
  get evaluationsLeft(): number | null {
    const { benchLimit } = this.lesson;
    return benchLimit === undefined ? null : benchLimit - this.state.evaluations.length;
  }
  get hints(): readonly number[] {
    return this.state.hints;
  }
  get text(): string {
    return this.state.text;
  }
  get mark(): LessonMark | null {
    return this.record.mark;
  }
  get eventCount(): number {
    return this.record.events.length;
  }
  /** Handed in: nothing can be changed any more, whether or not it is marked yet. */
  get finished(): boolean {
    return this.state.finished;
  }

  /** What is marked. */
  get handedIn(): Attempt {
    return attemptOf(this.state, this.seed);
  }

  /** Whether the learner has been anywhere but at the start. */
  get begun(): boolean {
    return this.record.events.length > 0 || this.step !== 'introduction';
  }

  /** Minutes left of the time limit, not below 0; null without a limit. */
  get minutesLeft(): number | null {
    const { timeLimitMinutes } = this.lesson;
    if (timeLimitMinutes === undefined || this.finished) return null;
    return Math.max(0, timeLimitMinutes - (this.begun ? this.nowS() : 0) / 60);
  }

  /** Takes up what was kept of this lesson; does nothing if nothing was, or if it was another edition's. */
  async restore(): Promise<void> {
    try {
      const kept = await this.store.load(this.key);
      if (kept?.version !== 2 || kept.lessonDigest !== lessonDigest(this.lesson)) return;
      const state = kept.events.reduce(
        (before, event) => afterEvent(this.lesson, before, event),
        freshState(this.lesson),
      );
      this.record = kept;
      this.state = state;
    } catch (error) {
      this.unkept = (error as Error).message;
    }
  }

  /** Whether a step can be shown now. */
  isOpen(step: LessonStep): boolean {
    if (step === 'bench') return this.predictionsLocked;
    if (step === 'answers') return this.unsealed;
    if (step === 'mark') return this.mark !== null;
    return true;
  }

  goTo(step: LessonStep): void {
    if (this.isOpen(step)) this.keep({ step });
  }

  /** Who this is; decides the hidden patients where the lesson says so, and then only until predictions are locked. */
  name(learner: string): void {
    if (this.finished || (this.predictionsLocked && this.lesson.hidden.seeds === 'per-learner')) return;
    this.keep({ learner: learner.slice(0, 200) });
  }

  /** Keeps an answer, or takes it back. @returns why it was not taken; null if it was */
  answer(question: Question, answer: Answer | undefined): string | null {
    return answer === undefined
      ? this.add({ kind: 'clear', question: question.id })
      : this.add({ kind: 'answer', question: question.id, answer });
  }

  setConfidence(question: Question, percent: number): string | null {
    return this.add({ kind: 'confidence', question: question.id, percent });
  }

  lockPredictions(): string | null {
    if (this.lesson.hidden.seeds === 'per-learner' && this.learner.trim() === '') {
      return 'Your name, below, first: it decides your hidden patients, and stays once the predictions are locked.';
    }
    const problem = this.add({ kind: 'lock' });
    if (problem === null) this.goTo('bench');
    return problem;
  }

  openHint(hint: number): string | null {
    return this.hints.includes(hint) ? null : this.add({ kind: 'hint', hint });
  }

  write(text: string): string | null {
    return text === this.text ? null : this.add({ kind: 'text', text });
  }

  /** Keeps a setting; the bench follows where its run takes it. @returns why it was not taken; null if it was */
  set(id: string, value: number | string, bench: Bench): string | null {
    const setting = settingOf(this.lesson, id);
    const problem = refusal(setting, value, this.finished) ?? this.add({ kind: 'setting', setting: id, value });
    if (problem !== null) return problem;
    if (!this.benchRun?.settings.includes(id)) return null;
    const { path } = setting;
    // Options that change several keys need not change the same ones: the way from one to another is by the document.
    if (path === undefined) this.load(this.benchRun, bench);
    else if (bench.valueAt(path) !== changeOf(setting, value)[path]) bench.set(path, changeOf(setting, value)[path]);
    return null;
  }

  /** Takes over what was set at the bench itself. @returns why a value was not taken over; null if all were */
  follow(bench: Bench): string | null {
    for (const id of this.benchRun?.settings ?? []) {
      const setting = settingOf(this.lesson, id);
      if (!setting.path) continue;
      const onBench = bench.valueAt(setting.path);
      const value =
        setting.kind === 'number' ? onBench : setting.options.find((option) => option.value === onBench)?.id;
      if (value === this.settings[id]) continue;
      const problem = this.set(id, (value ?? onBench) as number | string, bench);
      if (problem !== null) return problem;
    }
    return null;
  }

  /**
   * Puts a run on the bench: its patient, with all controls locked but those that the run leaves to the learner.
   *
   * @returns why the event was not taken; null if it was
   */
  putOnBench(run: Run, bench: Bench): string | null {
    const problem = this.finished ? null : this.add({ kind: 'bench', run: run.id });
    if (problem !== null && (!this.unsealed || this.evaluationsLeft === 0)) return problem;
    this.benchRun = run;
    if (bench.lockedHidden) bench.keep(null); // a kept riddle, compared with a labelled patient, would be solved
    const { controls } = this.lesson;
    const free = [...run.settings.flatMap((id) => settingOf(this.lesson, id).path ?? []), ...(controls?.free ?? [])];
    bench.sealTruth(!this.unsealed, !this.unsealed);
    this.load(run, bench);
    bench.lock(free, run.case !== undefined && !this.unsealed, controls?.hidden);
    bench.restart();
    return problem;
  }

  private load(run: Run, bench: Bench): void {
    const document = documentOf(this.lesson, run, this.settings, this.seed);
    // The learner watches what the run compares; more lanes than the page can show are marked all the same.
    const lanes = run.strategies?.slice(0, laneLetters.length).map((strategy) => ({ strategy }));
    bench.load(lanes && !('lanes' in document) ? { ...document, lanes } : document, BENCH_SEED);
  }

  unseal(bench: Bench): string | null {
    const problem = this.unsealed ? null : this.add({ kind: 'unseal' });
    if (problem === null) {
      bench.sealTruth(false);
      bench.lock(bench.freePaths, false, bench.hiddenPaths);
    }
    return problem;
  }

  /** Gives the bench back to its user. */
  leave(bench: Bench): void {
    this.benchRun = null;
    if (bench.keepsSecrets) {
      // With the locks off, all that was hidden could be read: somebody else takes the place.
      bench.keep(null);
      bench.load(preset(DEFAULT_PRESET), '1');
    }
    bench.lock(null);
    bench.sealTruth(false);
  }

  /** Hands the attempt in: from now on it is what is marked. */
  handIn(): string | null {
    return this.finished ? null : this.add({ kind: 'finish' });
  }

  finish(mark: LessonMark): void {
    this.keep({ mark, step: 'mark' });
  }

  /** Whether the lesson allows another attempt. */
  get mayStartAgain(): boolean {
    return this.attempt < (this.lesson.attemptLimit ?? Infinity);
  }

  /** A new attempt: other hidden patients, everything else from the start. */
  startAgain(): void {
    if (!this.mayStartAgain) return;
    this.benchRun = null;
    this.record = this.freshRecord(this.attempt + 1, this.learner);
    this.state = freshState(this.lesson);
    this.keep({});
  }

  /** The attempt as a file, marked or not. */
  toFile(program: string): AttemptFile {
    const { learner, attempt, mark, events } = this.record;
    return attemptFile(
      { lesson: this.lesson, learner, attempt, attemptSeed: this.seed, program },
      events,
      this.state,
      mark,
    );
  }

  /**
   * Takes up an attempt from a file, with the mark that its verification gave (null if it was not handed in).
   *
   * @throws {RangeError} for an event that the lesson does not allow
   */
  openFile(file: AttemptFile, mark: LessonMark | null): void {
    const { events } = eventsOf(file);
    this.state = events.reduce((before, event) => afterEvent(this.lesson, before, event), freshState(this.lesson));
    this.benchRun = null;
    const lastS = events[events.length - 1]?.atS ?? 0;
    this.record = {
      ...this.freshRecord(file.attempt, file.learner),
      attemptSeed: file.attemptSeed,
      begunAtMs: this.clockMs() - 1000 * lastS,
      events,
      mark,
    };
    const step = mark ? 'mark' : this.unsealed ? 'answers' : this.predictionsLocked ? 'bench' : 'introduction';
    this.keep({ step });
  }

  /** Settles when everything so far has been kept, or was refused. */
  async kept(): Promise<void> {
    await this.saving;
  }

  private get seed(): string {
    const { attemptSeed, learner, attempt } = this.record;
    return this.lesson.hidden.seeds === 'per-learner' ? learnerSeed(learner, attempt) : attemptSeed;
  }

  private nowS(): number {
    return Math.max(0, (this.clockMs() - this.record.begunAtMs) / 1000);
  }

  /** Adds an event if the rules allow it. @returns why they do not; null if they do */
  private add(untimed: Untimed<AttemptEvent>): string | null {
    const { events } = this.record;
    if (events.length === 0) this.record = { ...this.record, begunAtMs: this.clockMs() };
    // Tenths of a second, and never back: a computer's clock may be set while an attempt is open.
    const atS = Math.max(events[events.length - 1]?.atS ?? 0, Math.round(10 * this.nowS()) / 10);
    const event = { atS, ...untimed } as AttemptEvent;
    try {
      this.state = afterEvent(this.lesson, this.state, event);
    } catch (error) {
      return (error as Error).message;
    }
    this.keep({ events: [...events, event] });
    return null;
  }

  private freshRecord(attempt: number, learner: string): AttemptRecord {
    return {
      version: 2,
      lessonDigest: lessonDigest(this.lesson),
      learner,
      attempt,
      attemptSeed: crypto.getRandomValues(new Uint32Array(2)).join('-'),
      begunAtMs: this.clockMs(),
      step: 'introduction',
      events: [],
      mark: null,
    };
  }

  private keep(part: Partial<AttemptRecord>): void {
    this.record = { ...this.record, ...part };
    const { record } = this;
    // One after the other: the last state must be the one that stays.
    this.saving = this.saving
      .then(() => this.store.save(this.key, record))
      .then(
        () => {
          this.unkept = null;
        },
        (error: unknown) => {
          this.unkept = error instanceof Error ? error.message || error.name : String(error);
        },
      );
  }

  private get key(): string {
    return `${this.lesson.id}@${this.lesson.lineHz}`;
  }
}

/** Says why a setting was not kept: a value that the lesson does not allow, or an attempt that is handed in. */
function refusal(setting: Setting, value: unknown, finished: boolean): string | null {
  const rule = settingRule(setting, value);
  if (rule !== null) return `${setting.text}: ${rule}, got ${value === '' || Number.isNaN(value) ? 'nothing' : value}`;
  return finished ? `${setting.text}: this attempt is handed in; start another to change it` : null;
}

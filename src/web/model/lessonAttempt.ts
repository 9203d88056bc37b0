import { BENCH_SEED, documentOf } from '../../lessons/lessonRun.ts';
import type { LessonMark } from '../../lessons/mark.ts';
import type { Answer } from '../../lessons/markQuestion.ts';
import type { Lesson, Question, Run, Setting } from '../../lessons/schema.ts';
import type { Bench } from './bench.ts';

/** The steps of a lesson, in order. */
export const lessonSteps = ['introduction', 'prediction', 'bench', 'answers', 'mark'] as const;
export type LessonStep = (typeof lessonSteps)[number];

/** Everything that survives a reload. */
interface AttemptRecord {
  version: 1;
  attempt: number;
  attemptSeed: string;
  step: LessonStep;
  predictionsLocked: boolean;
  unsealed: boolean;
  settings: Record<string, number>;
  answers: Record<string, Answer>;
  mark: LessonMark | null;
}

/**
 * One learner's way through one lesson.
 *
 * Predictions can be changed until they are locked; the truth stays sealed until a run on the bench has ended; the
 * mark needs both. Every change is kept in `storage`, which may refuse (private windows do): then only this page knows.
 */
export class LessonAttempt {
  readonly lesson: Lesson;
  private readonly storage: Storage | null;
  private record: AttemptRecord;
  /** The run on the bench; null before one was put there. */
  benchRun: Run | null = null;

  constructor(lesson: Lesson, storage: Storage | null) {
    this.lesson = lesson;
    this.storage = storage;
    this.record = this.restore() ?? this.fresh(1);
  }

  get step(): LessonStep {
    return this.record.step;
  }
  get attempt(): number {
    return this.record.attempt;
  }
  get attemptSeed(): string {
    return this.record.attemptSeed;
  }
  get predictionsLocked(): boolean {
    return this.record.predictionsLocked;
  }
  get unsealed(): boolean {
    return this.record.unsealed;
  }
  get settings(): Readonly<Record<string, number>> {
    return this.record.settings;
  }
  get answers(): Readonly<Record<string, Answer>> {
    return this.record.answers;
  }
  get mark(): LessonMark | null {
    return this.record.mark;
  }

  /** Whether the learner has been anywhere but at the start. */
  get begun(): boolean {
    return this.step !== 'introduction' || this.predictionsLocked;
  }

  /** Whether a step can be shown now. */
  isOpen(step: LessonStep): boolean {
    if (step === 'bench') return this.predictionsLocked;
    if (step === 'answers') return this.unsealed;
    if (step === 'mark') return this.mark !== null;
    return true;
  }

  goTo(step: LessonStep): void {
    if (this.isOpen(step)) this.change({ step });
  }

  /** Keeps an answer. A prediction that is locked, or an answer that was marked, stays as it is. */
  answer(question: Question, answer: Answer | undefined): void {
    const isPrediction = this.lesson.predictions.includes(question);
    if (isPrediction ? this.predictionsLocked : this.mark !== null) return;
    const answers = { ...this.record.answers };
    if (answer === undefined) delete answers[question.id];
    else answers[question.id] = answer;
    this.change({ answers });
  }

  lockPredictions(): void {
    this.change({ predictionsLocked: true, step: 'bench' });
  }

  /** Keeps a setting, if the lesson allows it; the bench follows where its run takes it. */
  set(id: string, value: number, bench: Bench): void {
    const setting = this.settingOf(id);
    if (this.mark !== null || !(value >= setting.minimum && value <= setting.maximum)) return;
    this.change({ settings: { ...this.record.settings, [id]: value } });
    if (this.benchRun?.settings.includes(id) && bench.valueAt(setting.path) !== value) bench.set(setting.path, value);
  }

  /** Takes over what was set at the bench itself. @returns why a value was not taken over; null if all were */
  follow(bench: Bench): string | null {
    for (const id of this.benchRun?.settings ?? []) {
      const setting = this.settingOf(id);
      const value = bench.valueAt(setting.path);
      if (typeof value !== 'number' || value === this.settings[id]) continue;
      this.set(id, value, bench);
      if (this.settings[id] !== value) return refusal(setting, String(value));
    }
    return null;
  }

  /** Puts a run on the bench: its patient, with all controls locked but those that the run leaves to the learner. */
  putOnBench(run: Run, bench: Bench): void {
    this.benchRun = run;
    const free = run.settings.map((id) => this.settingOf(id).path);
    bench.sealTruth(!this.unsealed, !this.unsealed);
    bench.load(documentOf(this.lesson, run, this.settings), BENCH_SEED);
    bench.lock(free);
    bench.restart();
  }

  unseal(bench: Bench): void {
    this.change({ unsealed: true });
    bench.sealTruth(false);
  }

  /** Gives the bench back to its user. */
  leave(bench: Bench): void {
    this.benchRun = null;
    bench.lock(null);
    bench.sealTruth(false);
  }

  finish(mark: LessonMark): void {
    this.change({ mark, step: 'mark' });
  }

  /** A new attempt: other hidden patients, everything else from the start. */
  startAgain(): void {
    this.benchRun = null;
    this.record = this.fresh(this.attempt + 1);
    this.change({});
  }

  private settingOf(id: string): Setting {
    return this.lesson.settings.find((entry) => entry.id === id) as Setting;
  }

  private fresh(attempt: number): AttemptRecord {
    return {
      version: 1,
      attempt,
      attemptSeed: crypto.getRandomValues(new Uint32Array(2)).join('-'),
      step: 'introduction',
      predictionsLocked: false,
      unsealed: false,
      settings: Object.fromEntries(this.lesson.settings.map(({ id, start }) => [id, start])),
      answers: {},
      mark: null,
    };
  }

  private change(part: Partial<AttemptRecord>): void {
    this.record = { ...this.record, ...part };
    try {
      this.storage?.setItem(this.key, JSON.stringify(this.record, numbersToText));
    } catch {
      // Full or forbidden: the attempt goes on without being kept.
    }
  }

  /** The kept attempt; null if there is none, or one of another shape or for other settings. */
  private restore(): AttemptRecord | null {
    try {
      const record = JSON.parse(this.storage?.getItem(this.key) ?? 'null', textToNumbers) as AttemptRecord | null;
      if (record?.version !== 1 || !lessonSteps.includes(record.step)) return null;
      const within = this.lesson.settings.every(({ id, minimum, maximum }) => {
        const value = record.settings[id];
        return value >= minimum && value <= maximum;
      });
      const whole = typeof record.attemptSeed === 'string' && typeof record.answers === 'object' && record.attempt >= 1;
      return within && whole ? record : null;
    } catch {
      return null;
    }
  }

  private get key(): string {
    return `sweepwise.lesson.${this.lesson.id}`;
  }
}

/** Says why a setting was not kept: a value out of the lesson's bounds, or a lesson that is already marked. */
export function refusal({ text, minimum, maximum, unit }: Setting, got: string): string {
  const value = Number(got);
  return value >= minimum && value <= maximum
    ? `${text}: this attempt is marked; start another to change it`
    : `${text}: must be from ${minimum} to ${maximum} ${unit}, got ${got}`;
}

/** The browser's storage, or null where reading it is already an error. */
export function browserStorage(): Storage | null {
  try {
    return localStorage;
  } catch {
    return null;
  }
}

// JSON has no Infinity ("never") and no NaN ("cannot be told"); a mark has both.
function numbersToText(_key: string, value: unknown): unknown {
  return typeof value === 'number' && !Number.isFinite(value) ? `number:${value}` : value;
}

function textToNumbers(_key: string, value: unknown): unknown {
  return typeof value === 'string' && value.startsWith('number:') ? Number(value.slice(7)) : value;
}

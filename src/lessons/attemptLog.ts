import { type Settings, settingRule, startSettings } from './lessonRun.ts';
import type { Attempt } from './mark.ts';
import { type Answer, isAnswerTo } from './markQuestion.ts';
import type { Lesson, Question } from './schema.ts';

/** One action of a learner, with the seconds since the attempt began. Names are stored in files: never renamed. */
export type AttemptEvent = { atS: number } & (
  | { kind: 'answer'; question: string; answer: Answer }
  | { kind: 'clear'; question: string }
  | { kind: 'confidence'; question: string; percent: number }
  | { kind: 'lock' }
  | { kind: 'bench'; run: string }
  | { kind: 'setting'; setting: string; value: number | string }
  | { kind: 'unseal' }
  | { kind: 'hint'; hint: number }
  | { kind: 'text'; text: string }
  | { kind: 'finish' }
);

/** What the events so far amount to. */
export interface AttemptState {
  predictionsLocked: boolean;
  /** Runs that were put on the bench, in order. */
  benchRuns: string[];
  /** Different looks at unlabelled patients: which one, with which settings. */
  looks: readonly string[];
  /** Different pairs of a run on the bench and its settings, unlabelled or not. */
  evaluations: readonly string[];
  unsealed: boolean;
  finished: boolean;
  settings: Settings;
  answers: Readonly<Record<string, Answer>>;
  confidence: Readonly<Record<string, number>>;
  /** Numbers of the hints that were opened, from 0. */
  hints: readonly number[];
  text: string;
}

const LONGEST_TEXT = 20_000; // characters; our choice: some ten pages

/** Every attempt begins like this. */
export function freshState(lesson: Lesson): AttemptState {
  return {
    predictionsLocked: false,
    benchRuns: [],
    looks: [],
    evaluations: [],
    unsealed: false,
    finished: false,
    settings: startSettings(lesson),
    answers: {},
    confidence: {},
    hints: [],
    text: '',
  };
}

/**
 * Takes one event: the only way in which an attempt changes, on the page and when it is verified.
 *
 * Predictions can be changed until they are locked; the bench opens then; other answers need the broken seal; nothing
 * changes after the end or after the time limit, except that the attempt is handed in.
 *
 * @returns the new state   @throws {RangeError} naming the rule that the event breaks, and its value
 */
export function afterEvent(lesson: Lesson, state: AttemptState, event: AttemptEvent): AttemptState {
  const limitS = lesson.timeLimitMinutes === undefined ? Infinity : 60 * lesson.timeLimitMinutes;
  const refuse = (rule: string, got: unknown): never => {
    throw new RangeError(`${event.kind}: ${rule}, got ${typeof got === 'string' ? got : JSON.stringify(got)}`);
  };
  if (!(event.atS >= 0 && event.atS < 1e8)) refuse('atS must be seconds since the beginning', event.atS);
  if (state.finished) refuse('must come before the end of the attempt', event.kind);
  if (event.atS > limitS && event.kind !== 'finish') {
    refuse(`must come within ${lesson.timeLimitMinutes} minutes`, `${event.atS} s`);
  }
  switch (event.kind) {
    case 'answer': {
      const question = openQuestion(lesson, state, event.question, refuse);
      if (!isAnswerTo(question, event.answer)) refuse(`${question.id} must be answered in its kind`, event.answer);
      return { ...state, answers: { ...state.answers, [question.id]: event.answer } };
    }
    case 'clear': {
      const { id } = openQuestion(lesson, state, event.question, refuse);
      const { [id]: _gone, ...answers } = state.answers;
      return { ...state, answers };
    }
    case 'confidence': {
      const { question: id, percent } = event;
      if (!lesson.predictions.some((question) => question.id === id)) refuse('must be of a prediction', id);
      if (state.predictionsLocked) refuse('must come before predictions are locked', id);
      if (!(percent >= 0 && percent <= 100)) refuse('must be 0 to 100 %', percent);
      return { ...state, confidence: { ...state.confidence, [id]: percent } };
    }
    case 'lock':
      return { ...state, predictionsLocked: true };
    case 'bench': {
      const { run: id } = event;
      if (!state.predictionsLocked) refuse('needs locked predictions', id);
      if (!lesson.runs.some((run) => run.id === id && run.bench)) refuse('must be a run for the bench', id);
      const last = state.benchRuns[state.benchRuns.length - 1];
      const after = last === id ? state : { ...state, benchRuns: [...state.benchRuns, id] };
      return withEvaluation(lesson, after, refuse);
    }
    case 'setting': {
      const { setting: id, value } = event;
      const setting = lesson.settings.find((entry) => entry.id === id) ?? refuse('must be of this lesson', id);
      const rule = settingRule(setting, value);
      if (rule !== null) refuse(`${id} ${rule}`, value);
      const diagnosis = setting.kind === 'choice' && setting.diagnosisOf !== undefined;
      if (diagnosis && state.unsealed) refuse('must come before the seal is broken: it is a diagnosis', id);
      return withEvaluation(lesson, { ...state, settings: { ...state.settings, [id]: value } }, refuse);
    }
    case 'unseal':
      if (state.benchRuns.length === 0) refuse('needs a run on the bench', 'none');
      return { ...state, unsealed: true };
    case 'hint': {
      const { hint } = event;
      if (!(Number.isInteger(hint) && hint >= 0 && hint < 100)) refuse('must be the number of a hint', hint);
      return state.hints.includes(hint) ? state : { ...state, hints: [...state.hints, hint] };
    }
    case 'text': {
      const { text } = event;
      if (!(typeof text === 'string' && text.length <= LONGEST_TEXT)) refuse('must be a short text', typeof text);
      return { ...state, text };
    }
    case 'finish':
      if (!state.unsealed) refuse('needs the broken seal', 'sealed');
      return { ...state, finished: true };
    default:
      event satisfies never;
      return refuse('must be a known kind of event', (event as { kind: unknown }).kind);
  }
}

/** What is marked. */
export function attemptOf(state: AttemptState, attemptSeed: string): Attempt {
  const { settings, answers, confidence, hints, looks } = state;
  return { attemptSeed, settings, answers, confidence, hintCount: hints.length, lookCount: looks.length };
}

/** Counts what is on the bench: as an evaluation, and as a look if it is an unlabelled patient, where it is new. */
function withEvaluation(
  lesson: Lesson,
  state: AttemptState,
  refuse: (rule: string, got: unknown) => never,
): AttemptState {
  const run = lesson.runs.find(({ id }) => id === state.benchRuns[state.benchRuns.length - 1]);
  if (!run) return state;
  const pair = [run.id, ...run.settings.map((id) => state.settings[id])].join(' ');
  if (state.evaluations.includes(pair)) return state;
  const evaluations = [...state.evaluations, pair];
  const { benchLimit = Infinity } = lesson;
  if (evaluations.length > benchLimit) refuse(`must stay within ${benchLimit} evaluations`, evaluations.length);
  return { ...state, evaluations, looks: run.case === undefined ? state.looks : [...state.looks, pair] };
}

function openQuestion(
  lesson: Lesson,
  state: AttemptState,
  id: string,
  refuse: (rule: string, got: unknown) => never,
): Question {
  const prediction = lesson.predictions.find((question) => question.id === id);
  if (prediction) return state.predictionsLocked ? refuse('must come before predictions are locked', id) : prediction;
  const other = [...lesson.measurements, ...lesson.explanations].find((question) => question.id === id);
  if (!other) return refuse('must be to a question of this lesson', id);
  return state.unsealed ? other : refuse('needs the broken seal', id);
}

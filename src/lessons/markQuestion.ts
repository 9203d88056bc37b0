import { changesResponse, GAIN_BOUNDS } from '../core/quality/amplitudeGain.ts';
import { type FigureSource, shortNumber } from './figureParts.ts';
import { computeFigure, expectedGain } from './figures.ts';
import type { OutcomeRule, Question } from './schema.ts';
import { rampShare, rankingShare, ratioShare, toleranceShare, yesNoShare } from './score.ts';

/** An answer: a number, the id of an option, item ids in order (lowest first), or yes/no by item id. */
export type Answer = number | string | readonly string[] | Readonly<Record<string, boolean>>;

/** Answers by question id; a missing one gets no points. */
export type Answers = Readonly<Record<string, Answer | undefined>>;

/** One line of the mark. */
export interface Mark {
  id: string;
  text: string;
  points: number;
  outOf: number;
  /** What the learner said or set. */
  answer: string;
  /** The number or numbers that decided, in words. */
  finding: string;
  /** How the points follow from it, in words. */
  rule: string;
}

/** Marks one question. */
export function markQuestion(question: Question, answer: Answer | undefined, source: FigureSource): Mark {
  switch (question.kind) {
    case 'number':
      return markNumber(question, answer, source);
    case 'choice':
      return markChoice(question, answer, source);
    case 'ranking':
      return markRanking(question, answer, source);
    case 'yes-no':
      return markYesNo(question, answer, source);
    case 'claims':
      return markClaims(question, answer, source);
    default:
      return question satisfies never;
  }
}

/** Whether an answer is of the kind that a question takes: of the right type, and of ids that the question has. */
export function isAnswerTo(question: Question, answer: unknown): answer is Answer {
  switch (question.kind) {
    case 'number':
      return typeof answer === 'number' && Number.isFinite(answer);
    case 'choice':
      return question.options.some(({ id }) => id === answer);
    case 'ranking':
      return isListOf(question.items, answer) && answer.length === question.items.length;
    case 'claims':
      return isListOf(question.claims, answer) && answer.length <= question.pick;
    case 'yes-no':
      return (
        typeof answer === 'object' &&
        answer !== null &&
        !Array.isArray(answer) &&
        Object.entries(answer).every(
          ([id, value]) => typeof value === 'boolean' && question.items.some((item) => item.id === id),
        )
      );
    default:
      return question satisfies never;
  }
}

function isListOf(entries: readonly { id: string }[], answer: unknown): answer is string[] {
  return (
    Array.isArray(answer) &&
    new Set(answer).size === answer.length &&
    answer.every((given) => entries.some(({ id }) => id === given))
  );
}

/** Marks what the learner's settings achieved. */
export function markOutcome(rule: OutcomeRule, source: FigureSource): Mark {
  const { id, text, points: outOf, full, none } = rule;
  const { value, words } = computeFigure(rule.figure, source);
  const gain = rule.gain ? computeFigure({ figure: 'gain', ...rule.gain }, source) : null;
  const changed = rule.gain !== undefined && changesResponse(expectedGain(rule.gain.run, rule.gain.lane, source));
  const condition = rule.provided ? computeFigure(rule.provided.figure, source) : null;
  const kept = !(condition && rule.provided) || isWithin(condition.value, rule.provided);
  const share = !changed && kept ? rampShare(value, full, none) : 0;
  const side = full < none ? ['or less', 'or more'] : ['or more', 'or less'];
  const gainRule = gain
    ? `; nothing if the gain is outside ${GAIN_BOUNDS[0]} to ${GAIN_BOUNDS[1]} with its whole interval`
    : '';
  const conditionRule = rule.provided ? `; nothing unless ${rule.provided.text}` : '';
  return {
    id,
    text,
    points: roundPoints(share * outOf),
    outOf,
    answer: 'your settings on hidden patients',
    finding: [words, ...[gain, condition].flatMap((entry) => (entry ? [entry.words] : []))].join('; '),
    rule: `all ${outOf} at ${full} ${side[0]}, none at ${none} ${side[1]}, in proportion between${gainRule}${conditionRule}`,
  };
}

type Of<Kind> = Extract<Question, { kind: Kind }>;

function markNumber(question: Of<'number'>, answer: Answer | undefined, source: FigureSource): Mark {
  const { id, text, points: outOf, unit, scale, tolerance } = question;
  const truth = computeFigure(question.figure, source);
  const given = typeof answer === 'number' ? answer : NaN;
  const share =
    tolerance !== undefined
      ? toleranceShare(given, truth.value, tolerance)
      : ratioShare(given, truth.value, scale ?? 1);
  return {
    id,
    text,
    points: roundPoints(share * outOf),
    outOf,
    answer: Number.isNaN(given) ? NO_ANSWER : `${given} ${unit}`.trim(),
    finding: truth.words,
    rule:
      tolerance !== undefined
        ? `all ${outOf} within ±${tolerance}, none beyond ±${shortNumber(3 * tolerance)}, in proportion between`
        : `${outOf} × exp(−|ln(yours / model)| / ${scale})`,
  };
}

function markChoice(question: Of<'choice'>, answer: Answer | undefined, source: FigureSource): Mark {
  const { id, text, points: outOf, options } = question;
  const { value, words } = computeFigure(question.figure, source);
  const right = choicesThatHold(question, value);
  const chosen = options.find((option) => option.id === answer);
  // The model gave a figure that no option foresaw: the question is at fault, not the learner.
  const share = right.length === 0 ? 1 : right.some((option) => option === chosen) ? 1 : 0;
  const range = right.length > 0 ? rangeInWords(right[0].from, right[0].to) : '';
  return {
    id,
    text,
    points: share * outOf,
    outOf,
    answer: chosen?.text ?? NO_ANSWER,
    finding: words,
    rule:
      right.length === 0
        ? 'no option foresaw this figure: full points to everyone'
        : `right is “${right[0].text}”, because the figure is ${range}`,
  };
}

/** The options whose range holds the figure: one, or none if the lesson did not foresee it. */
export function choicesThatHold({ options }: Of<'choice'>, value: number) {
  return options.filter(({ from, to }) => (from !== undefined || to !== undefined) && inRange(value, from, to));
}

function markRanking(question: Of<'ranking'>, answer: Answer | undefined, source: FigureSource): Mark {
  const { id, text, points: outOf, items, tie } = question;
  const figures = items.map((item) => computeFigure(item.figure, source));
  const given = Array.isArray(answer) ? (answer as readonly string[]) : [];
  const order = given.map((itemId) => items.findIndex((item) => item.id === itemId));
  const complete = new Set(order).size === items.length && !order.includes(-1) && order.length === items.length;
  const truth = figures.map(({ value }) => value);
  const listed = items
    .map((item, k) => ({ text: item.text, value: truth[k], unit: figures[k].unit }))
    .sort((a, b) => (Number.isNaN(a.value) ? 1 : Number.isNaN(b.value) ? -1 : a.value - b.value))
    .map((item) => `${item.text} ${shortNumber(item.value)} ${item.unit}`.trim());
  return {
    id,
    text,
    points: complete ? roundPoints(rankingShare(order, truth, tie) * outOf) : 0,
    outOf,
    answer: complete ? order.map((k) => items[k].text).join(' < ') : NO_ANSWER,
    finding: `lowest first: ${listed.join('; ')}`,
    rule: `${outOf} × Kendall’s τ, not below 0; pairs within ${Math.round(100 * tie)} % of each other do not count`,
  };
}

function markYesNo(question: Of<'yes-no'>, answer: Answer | undefined, source: FigureSource): Mark {
  const { id, text, points: outOf, items, atMost, atLeast } = question;
  const figures = items.map((item) => computeFigure(item.figure, source));
  const truth = figures.map(({ value }) => (atMost !== undefined ? value <= atMost : value >= (atLeast ?? Infinity)));
  const given = typeof answer === 'object' && !Array.isArray(answer) ? (answer as Record<string, boolean>) : {};
  const complete = items.every((item) => typeof given[item.id] === 'boolean');
  const yesNo = (value: boolean) => (value ? 'yes' : 'no');
  const limit = atMost !== undefined ? `${atMost} or less` : `${atLeast} or more`;
  return {
    id,
    text,
    points: complete
      ? roundPoints(
          yesNoShare(
            items.map((item) => given[item.id]),
            truth,
          ) * outOf,
        )
      : 0,
    outOf,
    answer: complete ? items.map((item) => `${item.text} ${yesNo(given[item.id])}`).join('; ') : NO_ANSWER,
    finding: items.map((item, k) => `${item.text} ${yesNo(truth[k])} (${shortNumber(figures[k].value)})`).join('; '),
    rule: `yes is right at ${limit}; ${outOf} × (right − wrong) / ${items.length}, not below 0`,
  };
}

function markClaims(question: Of<'claims'>, answer: Answer | undefined, source: FigureSource): Mark {
  const { id, text, points: outOf, claims, pick } = question;
  const figures = claims.map((claim) => computeFigure(claim.figure, source));
  const holds = claims.map(({ from, to }, k) => inRange(figures[k].value, from, to));
  const picked = isAnswerTo(question, answer) ? (answer as readonly string[]) : [];
  const right = claims.filter((claim, k) => holds[k] && picked.includes(claim.id)).length;
  const best = Math.min(pick, holds.filter(Boolean).length);
  // The model lets none hold: the question is at fault, not the learner.
  const share = best === 0 ? 1 : Math.max(0, (right - (picked.length - right)) / best);
  return {
    id,
    text,
    points: roundPoints(share * outOf),
    outOf,
    answer: claims.flatMap((claim) => (picked.includes(claim.id) ? [claim.text] : [])).join('; ') || NO_ANSWER,
    finding: claims.map((claim, k) => `${claim.text} ${holds[k] ? 'holds' : 'fails'} (${figures[k].words})`).join('; '),
    rule: `at most ${pick}; ${outOf} × (right − wrong) / ${best}, not below 0`,
  };
}

const NO_ANSWER = 'no answer';

/** Whether a value keeps a condition; one that is not a number keeps none. */
function isWithin(value: number, { atMost = Infinity, atLeast = -Infinity }: Condition): boolean {
  return value <= atMost && value >= atLeast;
}

type Condition = NonNullable<OutcomeRule['provided']>;

function inRange(value: number, from = -Infinity, to = Infinity): boolean {
  return value >= from && value < to;
}

function rangeInWords(from: number | undefined, to: number | undefined): string {
  if (from === undefined) return `below ${to}`;
  return to === undefined ? `${from} or more` : `from ${from} to ${to}`;
}

/** Points are shown with one decimal, and added up as shown. */
export function roundPoints(points: number): number {
  return Math.round(10 * points) / 10;
}

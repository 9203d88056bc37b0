import { type AttemptFile, eventsOf, lessonDigest, linksOf, scoreOf } from './attemptFile.ts';
import { type AttemptState, afterEvent, attemptOf, freshState } from './attemptLog.ts';
import type { RunCache } from './hiddenRuns.ts';
import { type LessonMark, markAttempt } from './mark.ts';
import type { Lesson } from './schema.ts';

/** What verification found. */
export interface Verification {
  /** Every disagreement, as `place: rule, got value`; none if the attempt is what it claims to be. */
  problems: string[];
  /** What is worth knowing but no disagreement. */
  notes: string[];
  /** The mark computed here; null if the attempt cannot be marked or was not finished. */
  mark: LessonMark | null;
}

/**
 * Replays an attempt event by event, marks it again on the same hidden patients, and compares.
 *
 * Found are: an event, seed or name that was changed (its link no longer fits), an event that the rules of the lesson
 * do not allow, answers or settings that are not those of the events, another answer key (the lesson's digest), and
 * any point that the simulation does not give.
 *
 * @param program - version of this program   @param cache - shared between attempts of one class
 */
export function verifyAttempt(
  lesson: Lesson,
  file: AttemptFile,
  program: string,
  cache: RunCache = new Map(),
): Verification {
  const problems: string[] = [];
  const notes: string[] = [];
  if (file.program !== program) notes.push(`program: marked by version ${file.program}, verified by ${program}`);
  if (file.lesson.id !== lesson.id) {
    return { problems: [`lesson.id: must be ${lesson.id}, got ${file.lesson.id}`], notes, mark: null };
  }
  if (file.lesson.version !== lesson.version) {
    problems.push(`lesson.version: must be ${lesson.version}, got ${file.lesson.version}`);
  } else if (file.lesson.digest !== lessonDigest(lesson)) {
    problems.push(`lesson.digest: must be ${lessonDigest(lesson)}, got ${file.lesson.digest}: another answer key`);
  }
  if (lesson.hidden.seeds === 'per-learner' && file.learner.trim() === '') {
    problems.push('learner: must be given, the hidden patients are those of a name, got nothing');
  }
  if (lesson.hidden.seeds === 'per-learner' && file.attemptSeed !== learnerSeed(file.learner, file.attempt)) {
    problems.push(`attemptSeed: must be that of ${file.learner || 'the learner'}, got ${file.attemptSeed}`);
  }
  if (lesson.attemptLimit !== undefined && file.attempt > lesson.attemptLimit) {
    problems.push(`attempt: must be at most ${lesson.attemptLimit}, got ${file.attempt}`);
  }
  const state = replay(lesson, file, problems);
  if (!state) return { problems, notes, mark: null };
  for (const key of ['settings', 'answers', 'confidence', 'hints', 'text'] as const)
    compare(key, file, state, problems);

  if (!state.finished) {
    if (file.score !== null) problems.push('score: must be null before the attempt is handed in, got points');
    notes.push('not handed in yet');
    return { problems, notes, mark: null };
  }
  const marking = markAttempt(lesson, attemptOf(state, file.attemptSeed), cache);
  let step = marking.next();
  while (!step.done) step = marking.next();
  compareScore(file, step.value, problems);
  return { problems, notes, mark: step.value };
}

/** Seed of a learner's attempt in a lesson whose seeds are `per-learner`. */
export function learnerSeed(learner: string, attempt: number): string {
  return `${learner.trim().toLowerCase()}#${attempt}`;
}

function replay(lesson: Lesson, file: AttemptFile, problems: string[]): AttemptState | null {
  const { events, links } = eventsOf(file);
  const wanted = linksOf(file, events);
  const altered = links.findIndex((link, k) => link !== wanted[k]);
  if (altered >= 0) {
    problems.push(`events.${altered}: link must be ${wanted[altered]}, got ${links[altered]}: altered here or before`);
  }
  let state = freshState(lesson);
  let beforeS = 0;
  for (const [k, event] of events.entries()) {
    if (!(event.atS >= beforeS)) {
      problems.push(`events.${k}: atS must not go back from ${beforeS}, got ${event.atS}`);
      return null;
    }
    beforeS = event.atS;
    try {
      state = afterEvent(lesson, state, event);
    } catch (error) {
      problems.push(`events.${k}: ${(error as Error).message}`);
      return null;
    }
  }
  return state;
}

function compare(
  key: 'settings' | 'answers' | 'confidence' | 'hints' | 'text',
  file: AttemptFile,
  state: AttemptState,
  problems: string[],
): void {
  if (key === 'hints' || key === 'text') {
    if (JSON.stringify(file[key]) !== JSON.stringify(state[key])) {
      problems.push(`${key}: must be those of the events, got others`);
    }
    return;
  }
  const given = file[key] as Record<string, unknown>;
  const played = state[key] as Record<string, unknown>;
  for (const id of new Set([...Object.keys(given), ...Object.keys(played)])) {
    const own = (from: Record<string, unknown>) => (Object.hasOwn(from, id) ? JSON.stringify(from[id]) : 'nothing');
    if (own(given) !== own(played)) {
      problems.push(`${key}.${id}: must be ${own(played)}, as the events say, got ${own(given)}`);
    }
  }
}

function compareScore({ score }: AttemptFile, mark: LessonMark, problems: string[]): void {
  if (score === null) {
    problems.push('score: must be given after the attempt was handed in, got nothing');
    return;
  }
  const computed = scoreOf(mark);
  if (score.points !== computed.points) {
    problems.push(`score.points: must be ${computed.points}, as simulated, got ${score.points}`);
  }
  if (score.hintCost !== computed.hintCost) {
    problems.push(`score.hintCost: must be ${computed.hintCost}, got ${score.hintCost}`);
  }
  for (const id of new Set([...Object.keys(score.lines), ...Object.keys(computed.lines)])) {
    const [wanted, got] = [computed.lines, score.lines].map((lines) => (Object.hasOwn(lines, id) ? lines[id] : null));
    if (wanted !== got) problems.push(`score.lines.${id}: must be ${wanted ?? 'absent'}, got ${got ?? 'nothing'}`);
  }
}

import { STANDARD_LANES } from '../core/session/lanes.ts';
import { isReadingFigure } from './readingFigureKinds.ts';
import type { Figure, Lesson, Run } from './schema.ts';

/** The names of all lanes that a run may have: its strategies, then those that it adds by varying one. */
export function laneIdsOf({ strategies = [...STANDARD_LANES], vary = [] }: Run): string[] {
  return [...strategies, ...vary.flatMap(({ strategy, values }) => values.map((value) => `${strategy}@${value}`))];
}

/**
 * The runs that marks need, each with the lanes that some figure names; the others are for the bench only.
 *
 * The reported run keeps all its strategies. A lane that a setting names stands for every option of that setting, so
 * that learners who choose differently can share a measure.
 */
export function lanesToMeasure(lesson: Lesson): Map<string, ReadonlySet<string>> {
  const needed = new Map<string, Set<string>>();
  const need = (runId: string, lanes: readonly string[]): void => {
    const known = needed.get(runId) ?? new Set();
    for (const lane of lanes) for (const id of lanesMeant(lesson, lane)) known.add(id);
    needed.set(runId, known);
  };
  const run = (id: string) => lesson.runs.find((entry) => entry.id === id);
  need(lesson.report.run, run(lesson.report.run)?.strategies ?? STANDARD_LANES);
  for (const figure of figuresOf(lesson)) {
    if ('levels' in figure) for (const id of figure.levels) need(id, [figure.lane]);
    // What is worked out from the scenario needs no patients.
    if (!('run' in figure) || figure.figure === 'pickup') continue;
    if ('lane' in figure) need(figure.run, [figure.lane]);
    else if ('lanes' in figure) need(figure.run, figure.lanes);
    else {
      const vary = (run(figure.run)?.vary ?? []).filter(({ strategy }) => strategy === (figure.strategy ?? strategy));
      need(figure.run, laneIdsOf({ ...(run(figure.run) as Run), strategies: [], vary }));
    }
  }
  for (const { gain } of lesson.outcome) if (gain) need(gain.run, [gain.lane]);
  return needed;
}

/** The same figure in another run: wherever it names a run, this one. */
export function inRun<Of extends Figure>(figure: Of, run: string): Of {
  if (figure.figure === 'ratio') return { ...figure, of: inRun(figure.of, run), to: inRun(figure.to, run) };
  return 'run' in figure ? { ...figure, run } : figure;
}

/** The runs, by id, of whose averages some figure needs a reading: peaks, intervals, ratios. */
export function runsToRead(lesson: Lesson): ReadonlySet<string> {
  return new Set([...figuresOf(lesson)].flatMap((figure) => (isReadingFigure(figure) ? [figure.run] : [])));
}

/** Every figure of a lesson, those that others are made of included. */
function* figuresOf(lesson: Lesson): Generator<Figure> {
  for (const question of [...lesson.predictions, ...lesson.measurements, ...lesson.explanations]) {
    if ('items' in question) for (const { figure } of question.items) yield* withParts(figure);
    else if ('claims' in question) for (const { figure } of question.claims) yield* withParts(figure);
    else yield* withParts(question.figure);
  }
  for (const { figure, provided } of lesson.outcome) {
    yield* withParts(figure);
    if (provided) yield* withParts(provided.figure);
  }
}

function* withParts(figure: Figure): Generator<Figure> {
  yield figure;
  if ('to' in figure) for (const part of [figure.of, figure.to]) yield* withParts(part);
  if (figure.figure === 'sum') for (const part of figure.of) yield* withParts(part);
  if (figure.figure === 'over-runs') for (const id of figure.runs) yield* withParts(inRun(figure.of, id));
}

function lanesMeant(lesson: Lesson, lane: string): string[] {
  if (!lane.startsWith('setting:')) return [lane];
  const setting = lesson.settings.find(({ id }) => `setting:${id}` === lane);
  return setting?.kind === 'choice' ? setting.options.map(({ id }) => id) : [];
}

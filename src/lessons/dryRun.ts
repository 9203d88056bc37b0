import type { FigureSource } from './figureParts.ts';
import type { LaneMeasure, RunCache, RunMeasure } from './hiddenRuns.ts';
import { type MarkProgress, markAttempt, measureRuns } from './mark.ts';
import type { Lesson } from './schema.ts';
import { type StandardPlayer, settingsOf, standardPlayers } from './standardPlayers.ts';

/** How to try a lesson. */
export interface DryRunOrder {
  /** Attempt seeds: each has its own hidden patients. */
  seeds: readonly string[];
  /** At most so many hidden patients in each run: fewer are quicker and noisier. */
  patients?: number;
  /** Only the players by whom the verdicts go: quicker, and says nothing of the others. */
  judgedOnly?: boolean;
}

/** One player's scores. */
interface PlayerResult {
  id: string;
  text: string;
  good: boolean;
  points: number[];
}

/** One thing that a fair lesson must be, and whether this one is. */
interface DryRunVerdict {
  id: 'solvable' | 'discriminating' | 'not-by-luck' | 'steady';
  text: string;
  holds: boolean;
}

export interface DryRunReport {
  lesson: string;
  players: PlayerResult[];
  verdicts: DryRunVerdict[];
}

// Points of 100. Our choice: a good learner passes well, a bad one fails, the seed hardly matters. Whoever hits the
// right settings by chance (40) and a third of the answers (some 20) stays below what a good learner gets.
const SOLVABLE = 75;
const CARELESS_MOST = 55;
const LEAST_GAP = 25;
const LUCK_MOST = 65;
const SEED_SPREAD_MOST = 25;

/** The players by whom the verdicts go. */
const JUDGED: readonly string[] = ['silent', 'lucky', 'careless', 'textbook', 'expert'];

/** Reserved for what players know: never the seed of an attempt that is marked. */
const KNOWLEDGE_SEED = 'dry-run-knowledge';

/**
 * Lets ten standard players, and a believer in each strategy on offer, play a lesson over several seeds.
 *
 * A generator, so that a terminal can show progress; the return value is the report.
 *
 * @throws {RangeError} if there is no seed
 */
export function* dryRun(
  whole: Lesson,
  { seeds, patients, judgedOnly = false }: DryRunOrder,
  cache: RunCache = new Map(),
): Generator<MarkProgress, DryRunReport> {
  if (!(seeds.length > 0)) throw new RangeError(`dryRun: needs a seed, got ${seeds.length}`);
  const lesson = patients === undefined ? whole : withFewerPatients(whole, patients);
  const players = standardPlayers(lesson).filter(({ id }) => !judgedOnly || JUDGED.includes(id));
  const settings = settingsOf(lesson, lesson.players.textbook, KNOWLEDGE_SEED);
  const measures = yield* measureRuns(lesson, { settings, attemptSeed: KNOWLEDGE_SEED }, cache);
  const many: FigureSource = { lesson, settings, measures, attemptSeed: KNOWLEDGE_SEED };
  const one: FigureSource = { ...many, measures: new Map([...measures].map(([id, run]) => [id, ofOnePatient(run)])) };

  const results = players.map(({ id, text, good }): PlayerResult => ({ id, text, good, points: [] }));
  for (const [s, seed] of seeds.entries()) {
    for (const [k, player] of players.entries()) {
      const marking = markAttempt(lesson, attemptOf(lesson, player, seed, many, one), cache);
      let step = marking.next();
      while (!step.done) {
        const fraction = (s + (k + step.value.fraction) / players.length) / seeds.length;
        yield { title: `${player.id}: ${step.value.title}`, fraction };
        step = marking.next();
      }
      results[k].points.push(step.value.points);
    }
  }
  return { lesson: lesson.id, players: results, verdicts: verdictsOn(results) };
}

/** The same lesson with at most so many hidden patients in each run. */
export function withFewerPatients(lesson: Lesson, patients: number): Lesson {
  const fewer = (count: number) => Math.min(count, patients);
  return {
    ...lesson,
    hidden: { ...lesson.hidden, replicates: fewer(lesson.hidden.replicates) },
    runs: lesson.runs.map((run) =>
      run.replicates === undefined ? run : { ...run, replicates: fewer(run.replicates) },
    ),
  };
}

function attemptOf(lesson: Lesson, player: StandardPlayer, seed: string, many: FigureSource, one: FigureSource) {
  const percent = player.confidence(lesson);
  return {
    attemptSeed: seed,
    settings: player.settings(lesson, seed),
    answers: player.answers(lesson, { seed, many, one }),
    confidence: Object.fromEntries(lesson.predictions.map(({ id }) => [id, percent])),
    lookCount: player.looks?.(lesson),
  };
}

function ofOnePatient(run: RunMeasure): RunMeasure {
  // Two, the same one twice: scatter between patients is then none, as it looks to one who saw a single patient.
  const twice = <T>(values: readonly T[]): T[] => [values[0], values[0]];
  return {
    ...run,
    patientCount: 2,
    lanes: run.lanes.map((lane): LaneMeasure => {
      const lists = Object.entries(lane).map(([key, value]) => [key, Array.isArray(value) ? twice(value) : value]);
      return Object.fromEntries(lists) as LaneMeasure;
    }),
  };
}

function verdictsOn(results: readonly PlayerResult[]): DryRunVerdict[] {
  const of = (id: string) => results.find((result) => result.id === id)?.points ?? [];
  const expert = mean(of('expert'));
  const textbook = mean(of('textbook'));
  const careless = mean(of('careless'));
  const luckiest = Math.max(...of('lucky'), ...of('silent'));
  const spread = Math.max(...of('textbook')) - Math.min(...of('textbook'));
  return [
    {
      id: 'solvable',
      text: `expert ${shown(expert)} and textbook ${shown(textbook)}, at least ${SOLVABLE}`,
      holds: Math.min(expert, textbook) >= SOLVABLE,
    },
    {
      id: 'discriminating',
      text: `careless ${shown(careless)}, at most ${CARELESS_MOST} and ${LEAST_GAP} below textbook`,
      holds: careless <= CARELESS_MOST && textbook - careless >= LEAST_GAP,
    },
    {
      id: 'not-by-luck',
      text: `the best of chance and silence over all seeds ${shown(luckiest)}, at most ${LUCK_MOST}`,
      holds: luckiest <= LUCK_MOST,
    },
    {
      id: 'steady',
      text: `textbook differs by ${shown(spread)} between seeds, at most ${SEED_SPREAD_MOST}`,
      holds: spread <= SEED_SPREAD_MOST,
    },
  ];
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function shown(points: number): string {
  return points.toFixed(0);
}

import { costOf } from './drillKey.ts';
import { DRILL_LIMIT_S, type Drill } from './drillSchema.ts';

/** One action of a learner, with the seconds since the drill began. Names are stored in files: never renamed. */
export type DrillEvent = { atS: number } & (
  | { kind: 'source'; source: string }
  | { kind: 'remedy'; remedy: string }
  | { kind: 'undo' }
  | { kind: 'finish' }
);

/** What the events so far amount to. */
export interface DrillState {
  /** What was blamed: the first guess, and perhaps a second. */
  guesses: readonly string[];
  /** Remedies that hold now, in order. */
  remedies: readonly string[];
  /** Every remedy ever taken, those undone as well. */
  taken: readonly string[];
  finished: boolean;
  /** Real time until the drill was handed in, s; 0 before. */
  finishedAtS: number;
}

export const freshDrill: DrillState = { guesses: [], remedies: [], taken: [], finished: false, finishedAtS: 0 };

/** Time that a drill has taken: the learner's own and what the remedies took of the patient's, s. */
export function spentS({ taken, finished, finishedAtS }: DrillState, nowS: number): number {
  return (finished ? finishedAtS : nowS) + costOf(taken);
}

/**
 * Takes one event into account.
 *
 * A source is named before anything is done, so that the trouble is diagnosed and not tried out; a second guess may
 * come at any time. What a remedy took of the patient's time stays spent when it is undone. After five minutes, both
 * together, only handing in is left.
 *
 * @throws {RangeError} for an event that the rules do not allow
 */
export function afterDrillEvent(drill: Drill, state: DrillState, event: DrillEvent): DrillState {
  const { kind, atS } = event;
  const refuse = (rule: string, got: unknown): never => {
    throw new RangeError(`${kind}: ${rule}, got ${got}`);
  };
  if (!(atS >= 0 && atS < 86_400)) refuse('atS must be seconds since the beginning', atS);
  if (state.finished) refuse('must come before the drill is handed in', kind);
  if (kind === 'finish') return { ...state, finished: true, finishedAtS: atS };
  if (spentS(state, atS) > DRILL_LIMIT_S)
    refuse(`must come within ${DRILL_LIMIT_S} s`, `${Math.round(spentS(state, atS))} s`);
  switch (kind) {
    case 'source': {
      const { source } = event;
      if (!drill.sources.includes(source)) refuse('must be one that the drill offers', source);
      if (state.guesses.length >= 2) refuse('must be the first or the second guess', `a third, ${source}`);
      if (state.guesses.includes(source)) refuse('must be another than the first guess', source);
      return { ...state, guesses: [...state.guesses, source] };
    }
    case 'remedy': {
      const { remedy } = event;
      if (!drill.remedies.includes(remedy)) refuse('must be one that the drill offers', remedy);
      if (state.guesses.length === 0) refuse('needs a source that was named', 'none');
      if (state.remedies.includes(remedy)) refuse('must not hold already', remedy);
      return { ...state, remedies: [...state.remedies, remedy], taken: [...state.taken, remedy] };
    }
    case 'undo':
      if (state.remedies.length === 0) refuse('needs a remedy that holds', 'none');
      return { ...state, remedies: state.remedies.slice(0, -1) };
    default:
      event satisfies never;
      return refuse('must be a known kind of event', kind);
  }
}

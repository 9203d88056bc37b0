import { type Static, Type } from '@sinclair/typebox';
import { group, lane, name, sentence, sentences } from '../schemaParts.ts';

/**
 * The drill document: a session as it should be, and the trouble that is laid over it out of the learner's sight.
 *
 * No right answer is written down. Which source is to blame, which remedies mend it and which of them are the least is
 * worked out by running the drill on hidden patients (`drillKey.ts`). Texts may hold `[[25|30]]` and values
 * `{ at50: 25, at60: 30 }`, as in a lesson.
 */

const path = Type.String({
  pattern: '^[A-Za-z]+(\\.[A-Za-z0-9]+)+$',
  maxLength: 80,
  description: 'a key of the scenario, with dots',
});
const scenarioValue = Type.Union([Type.Number(), Type.Boolean(), Type.String(), Type.Array(Type.Number())], {
  description: 'a number, true, false, a word or a list of numbers',
});
const keys = Type.Record(path, scenarioValue, { additionalProperties: false });

export const drillSchema = group('drill', {
  format: Type.Literal(1),
  /** Raised with every change that could change a mark: an attempt holds it. */
  version: Type.Integer({ minimum: 1, maximum: 9999 }),
  id: name,
  /** Order in the list of drills. */
  place: Type.Integer({ minimum: 1, maximum: 999 }),
  /** Shown before the trouble is found: it must not give it away. */
  title: sentence,
  story: sentence,
  /** Set when the document is read for one supply or the other; not written in the file. */
  lineHz: Type.Union([Type.Literal(50), Type.Literal(60)]),
  /** The strategy whose average must come right; the plain mean if it is left out. */
  lane: Type.Optional(lane),
  /** The session as it should be: keys over the common session of `drillRun.ts`. */
  session: keys,
  /** The trouble: keys over that session. */
  trouble: keys,
  /** What the learner may blame, and do: names of `drillSources.ts` and `drillRemedies.ts`. */
  sources: Type.Array(name, { minItems: 3, maxItems: 9, uniqueItems: true }),
  remedies: Type.Array(name, { minItems: 3, maxItems: 9, uniqueItems: true }),
  /** Said with the mark: what gives the trouble away, and why the rest does not help. */
  debrief: sentences,
});

export type Drill = Static<typeof drillSchema>;

/** Real time and the patient's time that a drill may take together, s: five minutes. */
export const DRILL_LIMIT_S = 300;

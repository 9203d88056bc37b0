import { type Static, Type } from '@sinclair/typebox';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { muscleLevel } from './muscleLevel.ts';
import { type AveragingStrategy, belongsToA, type SweepMeta } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';
import { weightedScatter } from './weightedScatter.ts';

export const behaviourGatedParameters = Type.Object(
  {
    lowestGazeDeg: quantity('°', 0, 0, 90, 'a sweep with the gaze lower than this is left out; 0 = do not look'),
    lowestMuscleUv: quantity('µV', 0, 0, 100000, 'so is one with less mean rectified activity before the stimulus'),
    highestMuscleUv: quantity('µV', 100000, 0.1, 1000000, '… or with more'),
    smoothing: wholeNumber('sweeps', 5, 1, 1000, 'sweeps over which the meter of muscle activity is smoothed'),
    leaveOutMoved: wholeNumber('', 1, 0, 1, '1 = leave out sweeps during which the motion sensor saw the head move'),
  },
  { description: 'mean of the sweeps during which the patient did as asked', additionalProperties: false },
);

/**
 * Takes a sweep only while the patient does what the test needs: gaze up, muscle tense enough, head still.
 *
 *     accept x[k] if gaze >= lowest, lowest <= muscle activity <= highest and the motion sensor is silent
 *
 * What it looks at could be seen at the bedside and is not the response, so it cannot pick sweeps by their noise. It is
 * the right answer to a gaze that sags: the average then is that of the full effort, not of the session. A sensor that is
 * missing counts as content.
 */
export const behaviourGated: AveragingStrategy<Static<typeof behaviourGatedParameters>> = {
  id: 'behaviour-gated',
  scenarioKey: 'behaviourGated',
  label: 'Gated by behaviour',
  summary: 'A sweep counts only while gaze, muscle and head are as the test needs them.',
  parameters: behaviourGatedParameters,
  timing: 'online',
  signFree: true,
  usesBehaviour: true,
  create(context, setting, listener) {
    const { lowestGazeDeg, lowestMuscleUv, highestMuscleUv, smoothing, leaveOutMoved } = setting;
    if (!(highestMuscleUv > lowestMuscleUv)) {
      const rule = `highestMuscleUv must be > lowestMuscleUv (${lowestMuscleUv})`;
      throw new RangeError(`behaviourGated: ${rule}, got ${highestMuscleUv}`);
    }
    const { samplesPerSweep, preSampleCount, analysisFrom, analysisTo, respectFlags } = context;
    const meter = muscleLevel(preSampleCount, smoothing);
    const average = weightedScatter(samplesPerSweep, analysisFrom, analysisTo);
    const tell = verdictTeller(listener);

    /** What the patient did wrong, as the number that `explain` reads: 0 nothing, 1 moved, 2 gaze, 3 and 4 muscle. */
    function fault({ moved, gazeDeg = NaN }: Readonly<SweepMeta>, levelUv: number): number {
      if (leaveOutMoved === 1 && moved === true) return MOVED;
      if (gazeDeg < lowestGazeDeg) return LOW_GAZE;
      if (levelUv < lowestMuscleUv) return SLACK;
      return levelUv > highestMuscleUv ? TENSE : 0;
    }

    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) return tell(meta.index, 0, 'flagged', NaN, NaN);
        const levelUv = meter.next(sweepUv);
        const wrong = fault(meta, levelUv);
        if (wrong === 0) average.add(sweepUv, 1, belongsToA(meta.index));
        const measure = wrong === LOW_GAZE ? (meta.gazeDeg ?? NaN) : levelUv;
        tell(meta.index, wrong === 0 ? 1 : 0, wrong === 0 ? 'taken' : 'rejected', measure, wrong);
      },
      read: average.pair.read,
      readPair: average.pair.readPair,
      ownNoiseUv: average.ownNoiseUv,
      usedCount: average.pair.usedCount,
      effectiveCount: average.pair.effectiveCount,
    };
  },
  explain({ reason, measureUv, limitUv: wrong }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    if (wrong === MOVED) return 'Left out: the motion sensor saw the head move.';
    if (wrong === LOW_GAZE) return `Left out: the gaze had sagged to ${measureUv.toFixed(0)}°.`;
    if (wrong === SLACK) return `Left out: the muscle was too slack, ${measureUv.toPrecision(3)} µV.`;
    if (wrong === TENSE) return `Left out: the muscle was too tense, ${measureUv.toPrecision(3)} µV.`;
    return 'Counted in full: the patient did as asked.';
  },
};

const MOVED = 1;
const LOW_GAZE = 2;
const SLACK = 3;
const TENSE = 4;

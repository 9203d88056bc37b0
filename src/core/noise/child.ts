import { exp } from '../elementary.ts';
import { nextExponential, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import { muscleCarrier } from './muscleCarrier.ts';
import type { NoiseSource } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';

const STATES = ['quiet', 'restless', 'moving'] as const;
// Where a spell leads: rows from, columns to, in the order of STATES. Model values.
const JUMPS = [
  [0, 0.7, 0.3],
  [0.7, 0, 0.3],
  [0.4, 0.6, 0],
];
const SMOOTHING_S = 0.05; // how fast muscle activity follows a change of state

/**
 * A patient who will not lie still: muscle activity that follows quiet, restless and moving spells.
 *
 * Semi-Markov: the length of a spell is gamma distributed (shape 2) about its mean, then the state jumps by fixed
 * chances; each spell draws its activity log-normally about the state's median. The activity is muscle noise with the
 * spectrum of the scenario's muscle section. Streams: 'child/spells', 'child/carrier'.
 */
export const child: NoiseSource = {
  id: 'child',
  label: 'Restlessness',
  create(scenario, seed) {
    if (!scenario.child.present) return null;
    const { spellLogSd } = scenario.child;
    const { sampleRateHz } = scenario.converter;
    const { lowHz, highHz, contralateralGain } = scenario.muscle;
    const draws = stream(seed, 'child/spells');
    const carriers = [0, 1].map((channel) =>
      muscleCarrier(stream(seed, 'child/carrier', channel), lowHz, highHz, sampleRateHz),
    );
    const gains = [1, contralateralGain];
    const follow = 1 - exp(-SLOW_STEP_SAMPLES / sampleRateHz / SMOOTHING_S);
    let state = 0;
    let spellEnd = 0; // sample of the recording
    let targetUv = 0;
    let levelUv = -1; // before the first spell
    let slopeUv = 0; // per sample, towards the level at the end of this step
    let carrier = new Float64Array(0);
    let levels = new Float64Array(0);

    function drawSpell(): void {
      const { dwellS, muscleUv } = scenario.child[STATES[state]];
      const lengthS = (dwellS / 2) * (nextExponential(draws) + nextExponential(draws));
      spellEnd += Math.max(SLOW_STEP_SAMPLES, Math.round(lengthS * sampleRateHz));
      targetUv = nextLogNormal(draws, muscleUv, spellLogSd);
      const chance = nextUniform(draws);
      const row = JUMPS[state];
      state = chance < row[0] ? 0 : chance < row[0] + row[1] ? 1 : 2;
    }

    return {
      addUv(channelsUv, start, count) {
        if (carrier.length < count) {
          carrier = new Float64Array(count);
          levels = new Float64Array(count);
        }
        for (let i = 0; i < count; i++) {
          if ((start + i) % SLOW_STEP_SAMPLES === 0) {
            while (start + i >= spellEnd) drawSpell();
            if (levelUv < 0) levelUv = targetUv;
            slopeUv = (follow * (targetUv - levelUv)) / SLOW_STEP_SAMPLES;
          }
          levels[i] = levelUv;
          levelUv += slopeUv;
        }
        for (let c = 0; c < 2; c++) {
          carriers[c].fill(carrier, count);
          const out = channelsUv[c];
          const gain = gains[c];
          for (let i = 0; i < count; i++) out[i] += gain * levels[i] * carrier[i];
        }
      },
    };
  },
};

import { cosineOfCycles, sineOfCycles } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';
import { heardBeatHz } from '../stimulus/heardBeat.ts';
import { artefactPeakUv } from './artefactSize.ts';
import type { NoiseSource } from './noiseSource.ts';

/**
 * Stimulus artefact: the electric drive of the transducer, picked up by the leads.
 *
 *     x(t) = peak·[p·d(t) + q·d(t)²],   p = ±1 polarity, q = residualRatio, |d| ≤ 1 the drive
 *
 * `artefactSize.ts` says how large `peak` is: by level, unequal contacts, shield and place of the first stage.
 * It begins with the electric signal: with an insert earphone one tube delay, 0.8–1.0 ms
 * [VC92], before the sound arrives. The first part
 * cancels between polarities of equal weight, the second does not. A click is a pulse sin²; a tone burst is the tone
 * itself, ramped linearly; a modulated tone never ends. Tones beyond half the sample rate are taken to be filtered out.
 * What filters make of it (undershoot, ringing) comes from the chain. Draws nothing.
 */
export const artefact: NoiseSource = {
  id: 'artefact',
  label: 'Stimulus artefact',
  create(scenario) {
    const { peakUv, tubeDelayMs, residualRatio } = scenario.artefact;
    if (peakUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const { transducer, kind, frequencyHz } = scenario.stimulus;
    if (kind !== 'click' && !(frequencyHz < sampleRateHz / 2)) return null;
    const sizesUv = artefactPeakUv(scenario);
    const [size0Uv, size1Uv] = sizesUv;
    const delay = transducer === 'insert' ? (tubeDelayMs * sampleRateHz) / 1000 : 0; // samples
    if (kind === 'modulated-tone') return endlessTone(scenario, sizesUv, delay);

    const { shape, lengthS } = drive(scenario);
    const early = Math.ceil(delay); // whole samples by which the table leads the sound
    const table = Float64Array.from({ length: Math.ceil(lengthS * sampleRateHz) + 1 }, (_, i) =>
      shape((i - early + delay) / sampleRateHz),
    );
    let sounding: { from: number; polarity: number }[] = [];
    return {
      present({ sample, polarity }) {
        sounding.push({ from: sample - early, polarity });
      },
      addUv([out0, out1], start, count) {
        const end = start + count;
        for (const { from, polarity } of sounding) {
          const to = Math.min(end, from + table.length);
          for (let i = Math.max(start, from); i < to; i++) {
            const now = table[i - from];
            const value = polarity * now + residualRatio * now * now;
            out0[i - start] += size0Uv * value;
            out1[i - start] += size1Uv * value;
          }
        }
        if (sounding.length > 0) sounding = sounding.filter(({ from }) => from + table.length > end);
      },
    };
  },
};

/** The drive of one stimulus from its electric onset on; `shape` is asked for times a little before 0 too. */
function drive({ stimulus, artefact: { widthMs } }: Scenario): { shape: (timeS: number) => number; lengthS: number } {
  if (stimulus.kind === 'click') {
    const lengthS = widthMs / 1000;
    return {
      lengthS,
      shape: (timeS) => (timeS > 0 && timeS < lengthS ? (1 - cosineOfCycles(timeS / lengthS)) / 2 : 0),
    };
  }
  const { frequencyHz, riseCycles, plateauCycles } = stimulus;
  const cycleCount = 2 * riseCycles + plateauCycles;
  return {
    lengthS: cycleCount / frequencyHz,
    shape(timeS) {
      const cycle = timeS * frequencyHz;
      if (!(cycle > 0 && cycle < cycleCount)) return 0;
      return Math.min(1, Math.min(cycle, cycleCount - cycle) / riseCycles) * sineOfCycles(cycle);
    },
  };
}

function endlessTone(scenario: Scenario, [size0Uv, size1Uv]: readonly number[], delay: number) {
  const { stimulus, converter, artefact } = scenario;
  const tone = stimulus.frequencyHz / converter.sampleRateHz; // turns per sample
  const beat = heardBeatHz(scenario) / converter.sampleRateHz;
  return {
    addUv([out0, out1]: readonly Float64Array[], start: number, count: number) {
      for (let i = 0; i < count; i++) {
        const at = start + i + delay;
        const now = sineOfCycles(tone * at) * (1 - cosineOfCycles(beat * at)) * 0.5;
        const value = now + artefact.residualRatio * now * now;
        out0[i] += size0Uv * value;
        out1[i] += size1Uv * value;
      }
    },
  };
}

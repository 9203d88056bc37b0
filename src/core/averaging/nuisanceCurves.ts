import { cosineOfCycles, sineOfCycles } from '../elementary.ts';

/** Curves of drift and mains over a stretch of the recording: 1, time, then cosine and sine of each harmonic. */
export interface NuisanceCurves {
  count: number;
  /**
   * Gives the curves, one array each, reused by the next call.
   *
   * @param firstSample - number of the first sample in the recording   @param zeroAt - sample at which the time is 0
   */
  over(firstSample: number, sampleCount: number, zeroAt: number): readonly Float64Array[];
}

/**
 * Makes the curves of a recording.
 *
 * Turning the phasor of a harmonic from sample to sample costs two products; the phase is exact at the first sample of
 * every stretch.
 */
export function nuisanceCurves(lineHz: number, harmonicCount: number, sampleRateHz: number): NuisanceCurves {
  const count = 2 + 2 * harmonicCount;
  const turns = Array.from({ length: harmonicCount }, (_, h) => {
    const cycles = ((h + 1) * lineHz) / sampleRateHz;
    return { cycles, cosine: cosineOfCycles(cycles), sine: sineOfCycles(cycles) };
  });
  let held = Array.from({ length: count }, () => new Float64Array(0));
  return {
    count,
    over(firstSample, sampleCount, zeroAt) {
      if (held[0].length < sampleCount) held = held.map(() => new Float64Array(sampleCount));
      for (let i = 0; i < sampleCount; i++) {
        held[0][i] = 1;
        held[1][i] = (i - zeroAt) / sampleRateHz;
      }
      for (const [h, turn] of turns.entries()) {
        let cosine = cosineOfCycles(turn.cycles * firstSample);
        let sine = sineOfCycles(turn.cycles * firstSample);
        const cosines = held[2 + 2 * h];
        const sines = held[3 + 2 * h];
        for (let i = 0; i < sampleCount; i++) {
          cosines[i] = cosine;
          sines[i] = sine;
          const turned = cosine * turn.cosine - sine * turn.sine;
          sine = cosine * turn.sine + sine * turn.cosine;
          cosine = turned;
        }
      }
      return held;
    },
  };
}

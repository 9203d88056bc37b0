import { describe, expect, it } from 'vitest';
import { stream } from '../../src/core/random/stream.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { laneOf } from '../../src/core/session/lanes.ts';
import { race } from '../../src/core/session/race.ts';
import {
  averaged,
  errorOf,
  gainOf,
  interval,
  POINTS,
  PRE,
  plus,
  replicates,
  response,
  white,
} from './syntheticSweeps.ts';

// Where each clever strategy loses. Intervals over replicates, 99.9 % unless said otherwise. Sources are derivations and
// the literature named in MODEL.md; the conditions are invented.

/** Races lanes on simulated patients; intervals of a race are 95 %. */
function raced(document: object, lanes: readonly (readonly [string, Record<string, number>?])[], count: number) {
  const scenario = resolveScenario(document);
  const settings = lanes.map(([strategy, tunables]) => laneOf(scenario, strategy, tunables));
  const steps = race(scenario, { seed: 'lose', replicates: count, targetNv: 40, lanes: settings });
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value.lanes;
  }
}

describe('flat sweeps of a stage that is pinned', () => {
  const truth = response(1);
  /** 5 % of the sweeps are flat but for the last bit of the converter, in runs of 40. */
  const run = (strategy: string, r: number, flagged: boolean) => {
    const draws = stream('pinned', 'white', r);
    const isFlat = (k: number) => k % 800 >= 760;
    const sweepsUv = replicates(1600, (k) => (isFlat(k) ? white(draws, 1e-3) : plus(white(draws, 3), truth)));
    const { averageUv } = averaged(strategy, sweepsUv, {}, (k) => ({ overRange: flagged && isFlat(k) }));
    return gainOf(averageUv, truth);
  };

  it.each(['block-weighting', 'self-weighting', 'sorted-averaging', 'kalman'])(
    'take over %s, while the plain mean loses 5 %%; flags cure it',
    (strategy) => {
      const pinned = interval(replicates(6, (r) => run(strategy, r, false)));
      expect(pinned.high).toBeLessThan(0.6);
      const plain = interval(replicates(6, (r) => run('plain-mean', r, false)));
      expect(plain.low).toBeGreaterThan(0.85);
      const flagged = interval(replicates(6, (r) => run(strategy, r, true)));
      expect(flagged.low).toBeGreaterThan(0.85);
    },
  );

  it('drag the median towards their level, although it bears outliers', () => {
    const runs = replicates(6, (r) => {
      const draws = stream('pinned half', 'white', r);
      const sweepsUv = replicates(600, (k) => (k % 10 < 3 ? white(draws, 1e-3) : plus(white(draws, 1), truth)));
      return gainOf(averaged('median-average', sweepsUv).averageUv, truth);
    });
    expect(interval(runs).high).toBeLessThan(0.6); // 30 % flat take 30 % of the mean, and more of the median
  });
});

describe('mains that lock with the stimulus', () => {
  const locked = {
    session: { durationS: 20 },
    stimulus: { ratePerS: 25 },
    mains: { fundamentalUv: 4, wanderHz: 0 },
    converter: { sampleRateHz: 8000 },
  };

  it('are untouched by any weighting; hearing the recording between the sweeps takes most of them away', () => {
    const weighting = ['block-weighting', 'kalman', 'self-weighting', 'sorted-averaging'] as const;
    const [plain, states, ...weighted] = raced(
      locked,
      [['plain-mean'], ['state-space'], ...weighting.map((id) => [id] as const)],
      8,
    );
    // The same patients, so the same phases: the ratio of every patient, 99.9 %.
    const ratio = (lane: typeof plain) =>
      interval(lane.runs.map(({ noiseNv }, r) => Math.log(noiseNv / plain.runs[r].noiseNv)));
    for (const lane of weighted) {
      // Weights of the sweep itself shrink a hum as they shrink a response, and that is all.
      const shrunk = lane.strategy === 'self-weighting' ? 0.8 : 0.95;
      expect(ratio(lane).low, lane.strategy).toBeGreaterThan(Math.log(shrunk));
      // Their claims are blind to it, as the plain mean's is.
      expect(lane.ownNoiseNv / lane.expectedResidualNoiseNv.low, lane.strategy).toBeLessThan(0.2);
    }
    expect(plain.ownNoiseNv / plain.expectedResidualNoiseNv.low).toBeLessThan(0.2);
    expect(ratio(states).high).toBeLessThan(Math.log(0.15));
  });

  it('and jitter of a whole period takes them away from everyone', () => {
    const jittered = { ...locked, stimulus: { ratePerS: 25, jitterMs: 10 } };
    const [plain] = raced(jittered, [['plain-mean']], 6);
    const [fixed] = raced(locked, [['plain-mean']], 6);
    expect(plain.expectedResidualNoiseNv.high).toBeLessThan(0.3 * fixed.expectedResidualNoiseNv.low);
  });
});

describe('drift', () => {
  /** What is left after 1200 sweeps of a patient with the given noise, ten times. */
  const driftingRuns = (noiseUv: (k: number) => number) => {
    const truth = response(0.3);
    return replicates(10, (r) => {
      const draws = stream('drift', 'white', r);
      let drift = 0;
      const raw = replicates(1200, (k) => {
        drift = 0.97 * drift + white(draws, 8)[0]; // wanders by some 30 µV
        return plus(white(draws, noiseUv(k)), truth).map((value) => value + drift);
      });
      // Without its mean before the stimulus.
      const levelled = raw.map((sweepUv) => {
        const mean = sweepUv.subarray(0, PRE).reduce((sum, value) => sum + value, 0) / PRE;
        return sweepUv.map((value) => value - mean);
      });
      const rms = (strategy: string, sweepsUv: readonly Float64Array[]) => {
        const { averageUv } = averaged(strategy, sweepsUv);
        // The level itself is no concern here: it is taken off the average.
        const level = averageUv.subarray(0, PRE).reduce((sum, value) => sum + value, 0) / PRE;
        return errorOf(
          averageUv.map((value) => value - level),
          truth,
        );
      };
      return {
        plain: rms('plain-mean', raw),
        raw: rms('self-weighting', raw),
        levelled: rms('self-weighting', levelled),
      };
    });
  };

  it('spoils weights before it spoils the average: weights by power prefer sweeps near 0 to quiet ones', () => {
    const runs = driftingRuns((k) => (k % 3 === 0 ? 8 : 1));
    const ratio = interval(runs.map((run) => Math.log(run.levelled / run.raw)));
    expect(ratio.high).toBeLessThan(Math.log(0.8)); // a fifth quieter at least, once weights see the noise
  });

  it('makes weights where all sweeps are alike, and the plain mean wins', () => {
    const runs = driftingRuns(() => 3);
    const lost = interval(runs.map((run) => Math.log(run.raw / run.plain)));
    expect(lost.low).toBeGreaterThan(Math.log(1.5)); // measured: 2.2 times the noise
  });
});

describe('a tight threshold', () => {
  it('keeps the sweeps whose noise opposes a large response, so the response shrinks', () => {
    const truth = response(6);
    const at = (thresholdUv: number) =>
      replicates(10, (r) => {
        const draws = stream('tight', 'white', r);
        const sweepsUv = replicates(1000, () => plus(white(draws, 2.5), truth));
        return gainOf(averaged('threshold-rejection', sweepsUv, { thresholdUv, skipMs: 0 }).averageUv, truth);
      });
    expect(interval(at(9)).high).toBeLessThan(0.95);
    const wide = interval(at(30));
    expect(wide.low).toBeLessThan(1.001);
    expect(wide.low).toBeGreaterThan(0.98);
  });

  it('that follows the recent peaks takes everything where most sweeps are noisy, unless it has a ceiling', () => {
    const run = (ceilingUv: number, r: number) => {
      const draws = stream('majority', 'white', r);
      const sweepsUv = replicates(2000, (k) => white(draws, k % 10 < 6 ? 15 : 1));
      return errorOf(
        averaged('adaptive-rejection', sweepsUv, { ceilingUv, skipMs: 0 }).averageUv,
        new Float64Array(POINTS),
      );
    };
    const free = interval(replicates(6, (r) => run(100000, r)));
    const capped = interval(replicates(6, (r) => run(10, r)));
    expect(capped.high).toBeLessThan(0.25 * free.low);
  });
});

describe('a muscle reflex, cVEMP', () => {
  it('is marked down by whoever weights against its muscle, and kept by dividing', () => {
    const document = {
      response: { kind: 'cvemp' },
      contraction: { logSd: 0.5 },
      measures: { truth: 'normalised' },
      session: { durationS: 40 },
    };
    const lanes = [
      ['prestimulus-weighting'],
      ['template-weighting'],
      ['muscle-normalised', { lowestUv: 0, highestUv: 100000 }],
    ] as const;
    const [before, template, divided] = raced(document, lanes, 12);
    expect(before.amplitudeGain.high).toBeLessThan(0.9);
    expect(template.amplitudeGain.high).toBeLessThan(0.95);
    expect(divided.amplitudeGain.low).toBeGreaterThan(0.9);
    expect(divided.amplitudeGain.low).toBeGreaterThan(before.amplitudeGain.high + 0.1);
  });
});

describe('the process noise of a tracker', () => {
  const moving = (r: number, isMoving: boolean) => {
    const draws = stream(`moving/${isMoving}`, 'white', r);
    const [first, last] = [response(1), response(1).map((_, i, all) => (i >= PRE + 4 ? all[i - 4] : 0))];
    const truthAt = (k: number) =>
      isMoving
        ? plus(
            first.map((v) => v * (1 - k / 2000)),
            last,
            k / 2000,
          )
        : first;
    return { sweepsUv: replicates(2000, (k) => plus(white(draws, 3), truthAt(k))), truth: truthAt(1999) };
  };
  const errors = (isMoving: boolean, processNoiseUv2: number) =>
    replicates(10, (r) => {
      const { sweepsUv, truth } = moving(r, isMoving);
      return errorOf(averaged('kalman', sweepsUv, { processNoiseUv2 }).averageUv, truth);
    });

  it('above 0 costs noise in a patient who stays the same', () => {
    const ratio = interval(errors(false, 1e-4).map((tracked, r) => Math.log(tracked / errors(false, 0)[r])));
    expect(ratio.low).toBeGreaterThan(Math.log(1.5));
  });

  it('of 0 lags behind a response that moves', () => {
    const still = interval(errors(true, 0));
    const tracked = interval(errors(true, 1e-5));
    expect(tracked.high).toBeLessThan(still.low);
  });
});

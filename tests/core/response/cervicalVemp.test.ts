import { describe, expect, it } from 'vitest';
import {
  cervicalVemp,
  meanResponse,
  modulationDepth,
  rectifiedPerUnit,
} from '../../../src/core/response/cervicalVemp.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { noiseLedger } from '../../../src/core/session/ledger.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { mean, rms, standardDeviation } from '../sampleStatistics.ts';
import { meanTruth, peak, QUIET } from './meanTruth.ts';

const vemp = (document: object = {}) => ({ response: { kind: 'cvemp' }, ...document });
const depth = (document: object) => modulationDepth(resolveScenario(vemp(document)));
const STEADY_HOLD = { fatiguePerMin: 0, logSd: 0 };

/** Muscle activity of the stimulated side without chain: blocks of `addUv` and `addNoiseUv`. */
function muscleUv(document: object, seconds: number, seed = '1', side = 0): { truth: Float64Array; all: Float64Array } {
  const scenario = resolveScenario(vemp(document));
  const response = cervicalVemp.create(scenario, seed);
  const { sampleRateHz } = scenario.converter;
  const count = seconds * sampleRateHz;
  const truth = [new Float64Array(count), new Float64Array(count)];
  const noise = [new Float64Array(count), new Float64Array(count)];
  const interval = Math.round(sampleRateHz / scenario.stimulus.ratePerS);
  let told = 0;
  for (let start = 0; start < count; start += 4000) {
    const length = Math.min(4000, count - start);
    for (; told * interval < start + length + sampleRateHz / 50; told++) {
      response.present({ index: told, sample: told * interval, polarity: -1 });
    }
    const views = (channels: Float64Array[]) => channels.map((channel) => channel.subarray(start, start + length));
    response.addUv(views(truth), start, length);
    response.addNoiseUv?.(views(noise), start, length);
  }
  return { truth: truth[side], all: truth[side].map((value, i) => value + noise[side][i]) };
}

describe('modulationDepth', () => {
  const depths = [
    [{ levelDbNhl: 82 }, {}, 0, 'at threshold'],
    [{ levelDbNhl: 98, ratePerS: 5 }, {}, 0.6, '16 of 20 dB above it'],
    [{ levelDbNhl: 98, ratePerS: 5 }, { strength: 0.5 }, 0.3, 'half the organ'],
    [{ levelDbNhl: 98, ratePerS: 5 }, {}, 0.6, 'a normal ear'],
    [{ levelDbNhl: 98, ratePerS: 5 }, { thresholdDbNhl: 75 }, 0.75, 'saturated'],
    [{ levelDbNhl: 98, ratePerS: 5 }, { thirdWindow: true }, 0.95, 'a third window saturates later'],
    [{ levelDbNhl: 78, ratePerS: 5 }, { thirdWindow: true }, 0.6, 'third window: 20 dB earlier'],
  ] as const;
  it.each(depths)('%j with %j: %d', (stimulus, vestibular, expected, why) => {
    expect(depth({ stimulus, vestibular }), why).toBeCloseTo(expected, 9);
  });

  it('falls with age, rate and conductive loss, whatever the cochlea hears', () => {
    const young = depth({ stimulus: { ratePerS: 5 } });
    expect(depth({ stimulus: { ratePerS: 5 }, patient: { ageYears: 70 } })).toBeCloseTo(young - 0.12, 9);
    expect(depth({ stimulus: { ratePerS: 11 } }) / young).toBeCloseTo(Math.exp(-0.5), 9);
    expect(depth({ hearing: { conductiveDb: 20 } })).toBe(0);
    expect(depth({ stimulus: { ratePerS: 5 }, hearing: { thresholdsDbHl: [90, 90, 90, 90, 90] } })).toBe(young);
  });
});

describe('meanResponse', () => {
  it('is the bell of the firing convolved with the unit potential, by the sum', () => {
    const unit = (t: number) => (t / 2.5) * Math.exp((-t * t) / 12.5);
    const bell = (t: number) =>
      -Math.exp(-((t - 18) ** 2) / (2 * 4.3 ** 2)) + 0.2 * Math.exp(-((t - 39) ** 2) / (2 * 5 ** 2));
    for (const t of [5, 13, 18, 23, 30, 45]) {
      let sum = 0;
      for (let u = -20; u < 90; u += 0.01) sum += 0.01 * bell(u) * unit(t - u);
      expect(meanResponse(t)).toBeCloseTo(sum, 6);
    }
  });
});

describe('the muscle of the neck', () => {
  it('has the mean rectified activity of the scenario, both sides: 4 standard errors of 60 s', () => {
    const held = { contraction: { ...STEADY_HOLD, otherSideGain: 0.5 }, stimulus: { levelDbNhl: 60 } };
    for (const [side, expected] of [120, 60].entries()) {
      const { all } = muscleUv(held, 60, '3', side);
      const blocks = Array.from({ length: 600 }, (_, k) => mean(all.subarray(k * 800, (k + 1) * 800).map(Math.abs)));
      // 5 % of the other side adds in power: less than 1 % of this one.
      const error = Math.abs(mean(blocks) - expected);
      expect(error, `side ${side}`).toBeLessThan((4 * standardDeviation(blocks)) / Math.sqrt(600) + 0.01 * expected);
    }
  });

  it('few units are spiky, many are smooth: excess kurtosis falls as 1/λ', () => {
    const excess = (unitsPerS: number) => {
      const { all } = muscleUv({ contraction: { ...STEADY_HOLD, unitsPerS }, stimulus: { levelDbNhl: 60 } }, 60);
      return mean(all.map((x) => x ** 4)) / rms(all) ** 4 - 3;
    };
    // Campbell's theorem: κ₄/κ₂² = ∫h⁴/(λ·(∫h²)²), the integrals by sums; λ per ms.
    const unit = (t: number) => t * Math.exp((-t * t) / 2);
    let square = 0;
    let fourth = 0;
    for (let t = -8; t < 8; t += 0.001) {
      square += 0.001 * unit(t) ** 2;
      fourth += 0.001 * unit(t) ** 4;
    }
    const expected = (unitsPerS: number) => fourth / (2.5 * (unitsPerS / 1000) * square ** 2);
    expect(Math.abs(excess(200) - expected(200))).toBeLessThan(0.25 * expected(200));
    expect(Math.abs(excess(3000))).toBeLessThan(0.15);
  });

  it('answers by a change of its firing: the mean is the truth, the deviation dips to 0.7', () => {
    // 1530 sweeps of the plain muscle.
    const { truth, all } = muscleUv({ contraction: STEADY_HOLD, stimulus: { levelDbNhl: 98 } }, 300);
    const interval = Math.round(8000 / 5.1);
    const sweeps = Math.floor(all.length / interval) - 1;
    const at = (ms: number) => Array.from({ length: sweeps }, (_, k) => all[k * interval + Math.round(ms * 8)]);
    const quiet = standardDeviation(at(150));
    for (const ms of [13, 18, 23, 40]) {
      const values = at(ms);
      const expected = truth[5 * interval + Math.round(ms * 8)];
      expect(Math.abs(mean(values) - expected), `${ms} ms`).toBeLessThan((4 * quiet) / Math.sqrt(sweeps) + 3);
    }
    // √(1 − 0.6 · the bell smoothed by h²) = 0.70; standard error of a deviation: 1/√(2n) = 1.8 %.
    expect(Math.abs(standardDeviation(at(18)) / quiet - 0.7)).toBeLessThan(4 * 0.018);
    expect(standardDeviation(at(39)) / quiet).toBeGreaterThan(1);
  });

  it('is the same firing whatever the stimulus does', () => {
    const apart = (document: object) => muscleUv({ contraction: STEADY_HOLD, ...document }, 4).all;
    expect(apart({ stimulus: { levelDbNhl: 60 } })).toEqual(apart({ stimulus: { levelDbNhl: 60, ratePerS: 9 } }));
  });

  it('tires by the rate of the scenario, wanders by its deviation, recovers in a rest', () => {
    const level = (document: object, fromS: number, toS: number) => {
      const { all } = muscleUv(
        { stimulus: { levelDbNhl: 60, ...document }, contraction: { logSd: 0, fatiguePerMin: 1 } },
        70,
      );
      return rms(all.subarray(fromS * 8000, toS * 8000));
    };
    const [early, late] = [level({}, 0, 10), level({}, 60, 70)];
    expect(Math.abs(late / early - Math.exp(-1))).toBeLessThan(0.05); // 4 % standard error of 10 s of activity
    const trains = { trainS: 20, restS: 20 };
    expect(level(trains, 22, 38) / level(trains, 0, 20)).toBeLessThan(0.1);
    expect(level(trains, 41, 60)).toBeGreaterThan(level({}, 41, 60) * 1.2);
  });
});

describe('the cVEMP through its chain', () => {
  const ratios = [
    // units/s, p-p / mean rectified: prototype figures 1.42, 1.87, 2.57 for a modulation of 0.6
    [800, 1.42],
    [1500, 1.87],
    [3000, 2.57],
  ] as const;
  it.each(ratios)(
    '%d units/s: p at 12.1–12.4, n at 22.1 ms, p-p about %d of the mean rectified activity',
    (unitsPerS, prototype) => {
      const document = {
        ...QUIET,
        ...vemp({
          stimulus: { levelDbNhl: 98 },
          contraction: { ...STEADY_HOLD, unitsPerS },
          session: { durationS: 60 },
        }),
      };
      const { timesMs, truthUv } = meanTruth(document);
      const p = peak(timesMs, truthUv[0], 1, 8, 17);
      const n = peak(timesMs, truthUv[0], -1, 18, 28);
      expect(p.ms).toBeGreaterThan(12.1);
      expect(p.ms).toBeLessThan(12.4);
      expect(Math.abs(n.ms - 22.1)).toBeLessThan(0.15);
      const session = startSession(resolveScenario(document), '2');
      const rectified: number[] = [];
      for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
        rectified.push(mean(sweep.recordedUv[0].subarray(0, 160).map(Math.abs))); // 20 ms before the stimulus
      }
      const ratio = (p.uv - n.uv) / mean(rectified);
      expect(Math.abs(ratio - prototype) / prototype, `measured ${ratio}`).toBeLessThan(0.1);
    },
  );

  it('p-p over mean rectified follows λ₀·|r * h| within 5 %: √λ₀', () => {
    const ratio = (unitsPerS: number) => unitsPerS / 1000 / rectifiedPerUnit(unitsPerS);
    expect(ratio(3000) / ratio(800)).toBeCloseTo(Math.sqrt(3000 / 800), 9);
  });

  it('the other side is tense and sees 5 % of the answer', () => {
    const { truthUv } = meanTruth({ ...QUIET, ...vemp({ contraction: STEADY_HOLD }) });
    const size = (trace: Float64Array) => Math.max(...trace.map(Math.abs));
    expect(size(truthUv[1]) / size(truthUv[0])).toBeCloseTo(0.05, 9);
  });

  it('the truth is the mean of what is recorded: 20 seeds, 4 standard errors', () => {
    const document = { ...QUIET, ...vemp({ session: { durationS: 20 } }) };
    const errors = Array.from({ length: 20 }, (_, k) => {
      const { timesMs, truthUv, recordedUv } = meanTruth(document, String(k));
      const i = timesMs.findIndex((ms) => ms >= 22);
      return recordedUv[0][i] - truthUv[0][i];
    });
    expect(Math.abs(mean(errors))).toBeLessThan((4 * standardDeviation(errors)) / Math.sqrt(20));
    expect(standardDeviation(errors)).toBeGreaterThan(5); // µV: and each of them is noisy
  });

  it('a larger response than the muscle can make stops short of silence', () => {
    const { truthUv } = meanTruth({
      ...QUIET,
      ...vemp({ response: { kind: 'cvemp', amplitudeScale: 20 }, contraction: STEADY_HOLD }),
    });
    const whole = meanTruth({
      ...QUIET,
      ...vemp({ response: { kind: 'cvemp', amplitudeScale: 1, amplitudeLogSd: 0 }, contraction: STEADY_HOLD }),
    });
    const size = (trace: Float64Array) => Math.max(...trace.map(Math.abs));
    expect(size(truthUv[0]) / size(whole.truthUv[0])).toBeCloseTo(0.95 / depth({}), 1);
  });
});

describe('the ledger of a muscle response', () => {
  it('blames the firing of the muscle, and leaves next to nothing unexplained', () => {
    const scenario = resolveScenario(vemp({ session: { durationS: 10 } }));
    const run = noiseLedger(scenario, '1', [{ strategy: 'plain-mean', parameters: {} }]);
    let step = run.next();
    while (!step.done) step = run.next();
    const [{ rows, totalNv }] = step.value;
    const row = (id: string) => rows.find((entry) => entry.id === id)?.rmsNv ?? 0;
    expect(row('firing') / totalNv).toBeGreaterThan(0.9);
    expect(row('remainder') / totalNv).toBeLessThan(0.01);
  });
});

import { describe, expect, it } from 'vitest';
import { cochlearSizes, firstNegativityMs } from '../../../src/core/response/electrocochleogram.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { mean, standardDeviation } from '../sampleStatistics.ts';
import { meanTruth, peak, QUIET } from './meanTruth.ts';

const reference = { levelDbNhl: 87, ratePerS: 10 };
const sizes = (document: object = {}, seed = '1') =>
  cochlearSizes(
    resolveScenario({ response: { kind: 'ecochg' }, ...document, stimulus: { ...reference, ...pick(document) } }),
    seed,
  );
function pick(document: object): object {
  return 'stimulus' in document ? (document.stimulus as object) : {};
}
const trace = (document: object, polarity: 1 | -1 | 0 = 0) =>
  meanTruth(
    {
      ...QUIET,
      session: { durationS: 8 },
      averaging: { baseline: 'pre-stimulus' }, // a reader measures from before the stimulus
      response: { kind: 'ecochg', amplitudeLogSd: 0, latencyJitterMs: 0 },
      ...document,
    },
    '1',
    polarity,
  );

describe('cochlearSizes', () => {
  it('at 87 dB nHL and 10/s are those of the scenario', () => {
    const { actionUv, summatingUv, microphonicUv } = sizes();
    expect(actionUv).toBeCloseTo(0.45, 12);
    expect(summatingUv).toBeCloseTo(0.1125, 12);
    expect(microphonicUv).toBeCloseTo(0.1, 12);
  });

  it('the action potential adapts to the rate, the summating potential does not: 0.25 becomes 0.33 at 39/s', () => {
    const { actionUv, summatingUv } = sizes({ stimulus: { ratePerS: 39 } });
    expect(summatingUv).toBeCloseTo(0.1125, 12);
    expect(summatingUv / actionUv).toBeCloseTo(0.25 * Math.exp(0.29), 9);
    expect(Math.abs(summatingUv / actionUv - 0.33)).toBeLessThan(0.005);
  });

  const electrodes = [
    ['canal', 1],
    ['membrane', 6.2],
    ['transtympanic', 31],
  ] as const;
  it.each(electrodes)('%s: × %d', (electrode, gain) => {
    const near = sizes({ ecochg: { electrode } });
    expect(near.actionUv).toBeCloseTo(0.45 * gain, 9);
    expect(near.microphonicUv).toBeCloseTo(0.1 * gain, 9);
  });

  it('bends over softly: nobody beyond 0.6 µV in the canal, everybody below 0.45 µV as he is', () => {
    const people = Array.from({ length: 2000 }, (_, k) => sizes({ patient: { scatter: 1 } }, String(k)));
    const actions = people.map(({ actionUv }) => actionUv);
    expect(Math.max(...actions)).toBeLessThan(0.6);
    expect(Math.max(...actions)).toBeGreaterThan(0.5);
    const small = actions.filter((uv) => uv < 0.45);
    expect(Math.abs(small.length / 2000 - 0.5)).toBeLessThan(0.045); // half of all people, 4 SE
    const ratios = people.map(({ summatingUv, actionUv }) => summatingUv / actionUv);
    expect(Math.abs(mean(ratios) - 0.25)).toBeLessThan((4 * 0.07) / Math.sqrt(2000));
    expect(Math.abs(standardDeviation(ratios) - 0.07)).toBeLessThan((4 * 0.07) / Math.sqrt(4000));
  });

  it('a nerve out of step keeps its microphonic, a deaf cochlea keeps nothing of the nerve', () => {
    const auditory = sizes({ hearing: { desynchrony: { present: true } } });
    expect(auditory.actionUv).toBeCloseTo(0.05 * 0.45, 9);
    expect(auditory.microphonicUv).toBeCloseTo(0.2, 9);
    expect(sizes({ hearing: { thresholdsDbHl: [90, 90, 90, 90, 90] } })).toMatchObject({ actionUv: 0, summatingUv: 0 });
  });

  it('the microphonic shrinks with the cochlea as if the sound were fainter by the loss, also when it is recruited', () => {
    const loss = (db: number, rest: object = {}) => ({ hearing: { thresholdsDbHl: [db, db, db, db, db], ...rest } });
    const ofLevel = (levelDbNhl: number) => sizes({ stimulus: { levelDbNhl } }).microphonicUv;
    expect(sizes(loss(40)).microphonicUv).toBeCloseTo(ofLevel(47), 12);
    expect(sizes(loss(60)).microphonicUv / sizes().microphonicUv).toBeLessThan(0.04);
    const dead = sizes(loss(110)).microphonicUv;
    const outOfStep = sizes({ hearing: { desynchrony: { present: true } } }).microphonicUv;
    expect(dead, 'a dead cochlea is no nerve out of step').toBeLessThan(0.002 * outOfStep);
    expect(sizes(loss(40, { desynchrony: { present: true } })).microphonicUv).toBeCloseTo(2 * ofLevel(47), 12);
  });

  it('N1 comes at 1.56 ms for 87 dB nHL, later for fainter sounds, earlier for rarefaction', () => {
    expect(firstNegativityMs(87, 10, 1)).toBeCloseTo(1.5 + 0.9 * Math.exp(-47 / 18), 12);
    expect(firstNegativityMs(60, 10, 1)).toBeGreaterThan(firstNegativityMs(80, 10, 1) + 0.1);
    expect(firstNegativityMs(87, 10, -1) - firstNegativityMs(87, 10, 1)).toBeCloseTo(-0.06, 12);
  });
});

describe('the electrocochleogram through its chain', () => {
  it('shows a shoulder, N1 and N2, downwards, in that order of time', () => {
    const { timesMs, truthUv } = trace({});
    const n1 = peak(timesMs, truthUv[0], -1, 1.3, 2);
    expect(n1.ms).toBeGreaterThan(1.5);
    expect(n1.ms).toBeLessThan(1.75); // the low-pass at 3 kHz delays it
    expect(n1.uv).toBeLessThan(-0.25);
    const at = (ms: number) => truthUv[0][timesMs.findIndex((t) => t >= ms)];
    expect(at(1.1) / n1.uv).toBeGreaterThan(0.15); // the shoulder before N1
    expect(at(1.1) / n1.uv).toBeLessThan(0.4);
    expect(peak(timesMs, truthUv[0], -1, 2.3, 3).uv).toBeLessThan(-0.08);
    expect(Math.max(...truthUv[1].map(Math.abs))).toBeLessThan(0.15 * -n1.uv);
  });

  it('hydrops fills the shoulder', () => {
    const shoulder = (summatingRatio: number) => {
      const { timesMs, truthUv } = trace({ ecochg: { summatingRatio } });
      return truthUv[0][timesMs.findIndex((t) => t >= 1.1)];
    };
    expect(shoulder(0.55) / shoulder(0.25)).toBeGreaterThan(1.8);
  });

  it('alternation leaves 3 % of the microphonic, both polarities apart show all of it', () => {
    const only = { ecochg: { actionPotentialUv: 0, microphonicUv: 1 } };
    const size = (uv: Float64Array) => Math.max(...uv.map(Math.abs));
    const condensation = size(trace(only, 1).truthUv[0]);
    const rarefaction = size(trace(only, -1).truthUv[0]);
    expect(condensation / rarefaction).toBeCloseTo(1.03 / 0.97, 2);
    const alternated = size(trace(only).truthUv[0]);
    expect(alternated / condensation).toBeCloseTo(0.03 / 1.03, 2);
  });

  it('a tone burst holds the summating potential to its end + 0.8 ms', () => {
    const burst = {
      ecochg: { microphonicUv: 0 },
      stimulus: { kind: 'tone-burst', frequencyHz: 2000, riseCycles: 2, plateauCycles: 16, levelDbNhl: 90 },
      window: { postMs: 20, analysisToMs: 15 },
    };
    const { timesMs, truthUv } = trace(burst);
    const at = (ms: number) => truthUv[0][timesMs.findIndex((t) => t >= ms)];
    expect(at(8)).toBeLessThan(-0.03); // plateau of the 10 ms burst, AP long over
    expect(at(13), 'over; the high-pass swings back').toBeGreaterThan(0);
  });
});

import { describe, expect, it } from 'vitest';
import { MODEL_ADULT, type NeuralEar, neuralEar } from '../../../src/core/response/neuralEar.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { mean, standardDeviation } from '../sampleStatistics.ts';
import { meanTruth, peak, QUIET } from './meanTruth.ts';

const ear = (document: object, seed = '1') => neuralEar(resolveScenario(document), seed);
const flat = (db: number) => [db, db, db, db, db];

describe('neuralEar', () => {
  it('is the model adult by default, and for a man', () => {
    expect(ear({})).toEqual(MODEL_ADULT);
    expect(ear({ patient: { sex: 'male' } })).toEqual(MODEL_ADULT);
    expect(ear({ hearing: { thresholdsDbHl: flat(60), conductiveDb: 40 } }), 'flat loss is a matter of level').toEqual(
      MODEL_ADULT,
    );
  });

  it('infants: the interval matures with two speeds, waves I to V never cross', () => {
    let before = Infinity;
    for (const weeksPastTerm of [0, 2, 6, 13, 26, 52, 78, 104, 156]) {
      const baby = ear({ patient: { infant: { present: true, weeksPastTerm } } });
      const intervalMs = 3.95 + baby.latencyVMs - baby.latencyIMs;
      expect(intervalMs).toBeLessThan(before);
      expect(intervalMs).toBeGreaterThan(3.95);
      expect(baby.latencyIIIMs).toBeGreaterThan(baby.latencyIMs);
      expect(baby.latencyIIIMs).toBeLessThan(baby.latencyVMs);
      before = intervalMs;
    }
    const term = ear({ patient: { infant: { present: true } } });
    expect(term).toMatchObject({ sizeI: 1.3, sizeV: 0.55, rateFactor: 2 });
    expect(ear({ patient: { infant: { present: true, weeksPastTerm: 78 } } }).sizeV).toBeCloseTo(0.9, 9);
    expect(ear({ patient: { infant: { present: true }, ageYears: 90, sex: 'female' } }), 'no adult').toEqual(term);
  });

  it('slope: later and hardly a wave I, only where the loss rises towards 4 kHz', () => {
    const steep = ear({ hearing: { thresholdsDbHl: [10, 15, 45, 70, 80] } });
    expect(steep.latencyVMs).toBeCloseTo(0.2, 9); // 0.01 ms for each of 20 dB above 50
    expect(steep.latencyVMs - steep.latencyIMs).toBe(0);
    expect(steep.sizeI).toBeCloseTo(0.4, 9);
  });

  it('a slow nerve: I–III longer, III and V smaller, rate counts double', () => {
    expect(ear({ hearing: { retrocochlear: { present: true } } })).toEqual({
      ...MODEL_ADULT,
      ...{ latencyIIIMs: 0.5, latencyVMs: 0.5, sizeIII: 0.4, sizeV: 0.4, rateFactor: 2 },
    });
  });

  it('scatter between people: 1000 seeds give the stated deviations within 4 standard errors', () => {
    const people = Array.from({ length: 1000 }, (_, k) => ear({ patient: { scatter: 1 } }, String(k)));
    const spread = (value: (person: NeuralEar) => number, expected: number) => {
      const values = people.map(value);
      expect(Math.abs(mean(values))).toBeLessThan((4 * expected) / Math.sqrt(1000));
      expect(Math.abs(standardDeviation(values) - expected)).toBeLessThan((4 * expected) / Math.sqrt(2000));
    };
    spread((p) => p.latencyIMs, 0.1);
    spread((p) => p.latencyIIIMs - p.latencyIMs, 0.12);
    spread((p) => p.latencyVMs - p.latencyIIIMs, 0.12);
    spread((p) => p.latencyVMs, Math.sqrt(0.01 + 2 * 0.0144)); // 0.197
    for (const wave of ['sizeI', 'sizeIII', 'sizeV'] as const) spread((p) => Math.log(p[wave]), Math.hypot(0.3, 0.18));
  });

  it('half the scatter is half as far from the model adult, for the same seed', () => {
    const [half, whole] = [0.5, 1].map((scatter) => ear({ patient: { scatter } }));
    expect(half.latencyVMs).toBeCloseTo(whole.latencyVMs / 2, 12);
  });
});

describe('hearing loss in the trace', () => {
  const wave5 = (document: object, c = 0) => {
    const { timesMs, truthUv } = meanTruth({ ...QUIET, session: { durationS: 20 }, ...document });
    return peak(timesMs, truthUv[c], 1, 5, 9);
  };

  it('conductive loss shifts the latency–level curve as a whole', () => {
    const shifted = wave5({ stimulus: { levelDbNhl: 80 }, hearing: { conductiveDb: 30 } });
    expect(shifted).toEqual(wave5({ stimulus: { levelDbNhl: 50 } }));
  });

  it('desynchrony leaves next to nothing of the mean, whatever the level', () => {
    const { truthUv } = meanTruth({
      ...QUIET,
      session: { durationS: 30 },
      stimulus: { levelDbNhl: 90 },
      hearing: { desynchrony: { present: true } },
    });
    const healthy = meanTruth({ ...QUIET, session: { durationS: 30 }, stimulus: { levelDbNhl: 90 } });
    const size = (trace: Float64Array) => Math.max(...trace.map(Math.abs));
    expect(size(truthUv[0]) / size(healthy.truthUv[0])).toBeLessThan(0.05);
  });

  it('a sound that crosses is answered on the other side: its ipsilateral channel is the far one', () => {
    const crossing = {
      stimulus: { levelDbNhl: 95, transducer: 'supra-aural' },
      hearing: { crossHearing: true, thresholdsDbHl: flat(110) },
    };
    const [here, there] = [wave5(crossing, 0), wave5(crossing, 1)];
    const own = { stimulus: { levelDbNhl: 55 } };
    expect(there).toEqual(wave5(own, 0));
    expect(here).toEqual(wave5(own, 1));
    const masked = { ...crossing, stimulus: { ...crossing.stimulus, maskingDb: 55 } };
    expect(wave5(masked, 1).uv).toBe(0);
  });
});

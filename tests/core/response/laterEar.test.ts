import { describe, expect, it } from 'vitest';
import { laterEar } from '../../../src/core/response/laterEar.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { meanTruth, QUIET } from './meanTruth.ts';

const outOfStep = { desynchrony: { present: true } };
const slow = { retrocochlear: { present: true } };
const flat = (db: number) => [db, db, db, db, db];

describe('laterEar', () => {
  const ear = (hearing: object, exponent: number, stimulus: object = {}) =>
    laterEar(resolveScenario({ hearing, stimulus: { levelDbNhl: 80, ...stimulus } }), exponent, (db) =>
      Math.max(0, db),
    );

  it('a sound nerve takes nothing off, to the bit', () => {
    expect(ear({}, 0.5)).toEqual({ levelDbNhl: 80, sizeFactor: 1, delayMs: 0, jitterMs: 0 });
  });

  it('gains multiply under the exponent; delay and jitter are those of the nerve', () => {
    expect(ear(outOfStep, 1)?.sizeFactor).toBeCloseTo(0.05, 12);
    expect(ear(outOfStep, 0.5)).toMatchObject({ delayMs: 0, jitterMs: 0.5 });
    expect(ear(outOfStep, 0.5)?.sizeFactor).toBeCloseTo(Math.sqrt(0.05), 12);
    expect(ear({ ...outOfStep, ...slow }, 0.5)?.sizeFactor).toBeCloseTo(Math.sqrt(0.05 * 0.4), 12);
    expect(ear(slow, 0.5)).toMatchObject({ delayMs: 0.5, jitterMs: 0 });
    expect(ear({ desynchrony: { present: true, neuralGain: 0 } }, 0.5)?.sizeFactor).toBe(0);
  });

  it('is the far ear where that answers larger, with its own sound nerve', () => {
    const crossing = { ...outOfStep, crossHearing: true };
    expect(ear(crossing, 1, { transducer: 'supra-aural' })).toEqual({
      levelDbNhl: 40,
      sizeFactor: 1,
      delayMs: 0,
      jitterMs: 0,
    });
    expect(ear({ crossHearing: true }, 1, { transducer: 'supra-aural' })?.levelDbNhl).toBe(80);
    expect(ear({ thresholdsDbHl: flat(90) }, 1)).toBeNull();
  });
});

describe('a sick nerve behind the brainstem', () => {
  const range = (document: object) => {
    const { timesMs, truthUv } = meanTruth({ ...QUIET, session: { durationS: 20 }, ...document });
    const trace = truthUv[0];
    const most = trace.indexOf(Math.max(...trace));
    return { uv: trace[most] - Math.min(...trace), ms: timesMs[most], trace };
  };
  const steady = { amplitudeLogSd: 0, latencyJitterMs: 0 };

  it('middle latencies: the root of the gain, and late by the delay', () => {
    const of = (hearing: object) => range({ response: { kind: 'middle-latency', ...steady }, hearing });
    const healthy = of({});
    const silentJitter = { desynchrony: { present: true, jitterMs: 0 } };
    expect(of(silentJitter).uv / healthy.uv).toBeCloseTo(Math.sqrt(0.05), 3);
    expect(of(outOfStep).uv / healthy.uv).toBeLessThan(0.25);
    expect(of(slow).uv / healthy.uv).toBeCloseTo(Math.sqrt(0.4), 2);
    expect(Math.abs(of(slow).ms - healthy.ms - 0.5)).toBeLessThan(0.15);
  });

  it.each([
    [40, 0.5 + 0.5 * Math.log2(40.42 / 40)], // the beat is moved to 40.42 Hz
    [90, 1],
  ])('steady state at %d Hz: the gain to the power of %f', (modulationHz, exponent) => {
    const of = (hearing: object) =>
      range({ response: { kind: 'steady-state', ...steady }, stimulus: { modulationHz }, hearing }).uv;
    const healthy = of({});
    expect(of(outOfStep) / healthy).toBeCloseTo(0.05 ** exponent, 3);
    expect(of(slow) / healthy).toBeCloseTo(0.4 ** exponent, 3);
  });

  it('cortical waves stay as they are, to the bit', () => {
    const of = (hearing: object) => range({ response: { kind: 'cortical' }, hearing }).trace;
    expect(of(outOfStep)).toEqual(of({}));
    expect(of(slow)).toEqual(of({}));
  });
});

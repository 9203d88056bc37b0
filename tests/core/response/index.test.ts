import { describe, expect, it } from 'vitest';
import { responseKind, responseKinds } from '../../../src/core/response/index.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { scenarioSchema } from '../../../src/core/scenario/schema.ts';
import { sessionDefaults } from '../../../src/core/scenario/sessionDefaults.ts';
import { sessionDigest } from '../session/digest.ts';
import { meanTruth, QUIET } from './meanTruth.ts';

const kinds = responseKinds.map(({ id }) => id);
const answering = kinds.filter((id) => id !== 'none');
const shortS = (kind: string) => (kind === 'cortical' ? 20 : kind === 'steady-state' ? 10 : 3);
const short = (kind: string, more: object = {}) => ({
  ...QUIET,
  response: { kind, ...more },
  session: { durationS: shortS(kind) },
});

describe('the registry of responses', () => {
  it('holds what the schema offers, each once, with a label and with session defaults', () => {
    const offered = (scenarioSchema.properties.response.properties.kind as unknown as { anyOf: { const: string }[] })
      .anyOf;
    expect([...kinds].sort()).toEqual(offered.map((entry) => entry.const).sort());
    expect(new Set(kinds).size).toBe(kinds.length);
    expect(Object.keys(sessionDefaults).sort()).toEqual([...kinds].sort());
    for (const { label } of responseKinds) expect(label.length).toBeGreaterThan(3);
  });

  it('names the choices for an unknown kind', () => {
    expect(() => responseKind('p300')).toThrow(/^unknown response "p300"; one of click-abr, tone-abr, /);
    expect(() => responseKind('toString')).toThrow(RangeError);
  });
});

describe.each(answering)('%s', (kind) => {
  it('gives the same bits for any block size, and others for another seed', () => {
    const document = {
      response: { kind, latencyJitterMs: 0.3, amplitudeLogSd: 0.2, trajectory: { endS: 2, latencyShiftMs: 1 } },
      session: { durationS: shortS(kind) },
      patient: { scatter: 1 },
    };
    const digest = sessionDigest(document, '7', 997);
    for (const blockSampleCount of [1, 37, 4096]) expect(sessionDigest(document, '7', blockSampleCount)).toBe(digest);
    expect(sessionDigest(document, '8')).not.toBe(digest);
  });

  it('answers in both channels, and not with size 0', () => {
    const { truthUv } = meanTruth(short(kind));
    for (const channel of truthUv) expect(Math.max(...channel.map(Math.abs))).toBeGreaterThan(0.005);
    for (const channel of meanTruth(short(kind, { amplitudeScale: 0 })).truthUv) {
      expect(channel.every((value) => value === 0)).toBe(true);
    }
  });

  it('grows with amplitudeScale', () => {
    const one = meanTruth(short(kind)).truthUv[0];
    const half = meanTruth(short(kind, { amplitudeScale: 0.5 })).truthUv[0];
    const scale = Math.max(...one.map(Math.abs));
    for (let i = 0; i < one.length; i += 7) expect(Math.abs(half[i] - 0.5 * one[i])).toBeLessThan(1e-9 * scale);
  });

  it('keeps to its trajectory: a step to nothing halves the session mean of the second half', () => {
    const scenario = resolveScenario(short(kind));
    const middleS = scenario.session.durationS / 2;
    const gone = meanTruth(short(kind, { trajectory: { startS: middleS, endS: middleS, amplitudeFactor: 0 } }))
      .truthUv[0];
    const whole = meanTruth(short(kind)).truthUv[0];
    const size = (trace: Float64Array) => Math.sqrt(trace.reduce((sum, value) => sum + value * value, 0));
    const share = size(gone) / size(whole);
    if (kind !== 'cortical' && kind !== 'ovemp') expect(Math.abs(share - 0.5)).toBeLessThan(0.1);
    else expect(share, 'later answers are smaller anyway').toBeGreaterThan(0.45);
  });
});

describe('session defaults', () => {
  it.each(answering)('%s: the response stands in its analysis window, within the range of the amplifier', (kind) => {
    const scenario = resolveScenario({ response: { kind } });
    const { timesMs, truthUv } = meanTruth(short(kind));
    const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
    let inside = 0;
    let all = 0;
    for (const [i, ms] of timesMs.entries()) {
      const power = truthUv[channel][i] ** 2;
      all += power;
      if (ms >= scenario.window.analysisFromMs && ms <= scenario.window.analysisToMs) inside += power;
    }
    expect(inside / all).toBeGreaterThan(0.75);
    const loudest = Math.max(...truthUv.flatMap((trace) => [...trace.map(Math.abs)]));
    expect(loudest).toBeLessThan(scenario.amplifier.rangeUv / 2);
  });

  it('lie under what the document says, group by group', () => {
    const scenario = resolveScenario({
      response: { kind: 'cvemp' },
      stimulus: { levelDbNhl: 90 },
      filter: { notchHz: 50 },
    });
    expect(scenario.stimulus).toMatchObject({ levelDbNhl: 90, frequencyHz: 500, ratePerS: 5.1, kind: 'tone-burst' });
    expect(scenario.filter).toMatchObject({ notchHz: 50, highPassHz: 10, lowPassHz: 1000, lowPassOrder: 2 });
    expect(resolveScenario(scenario)).toEqual(scenario);
  });

  const rates = [
    ['ecochg', 32000],
    ['click-abr', 16000],
    ['tone-abr', 16000],
    ['cvemp', 8000],
    ['ovemp', 8000],
    ['middle-latency', 8000],
    ['cortical', 2000],
    ['steady-state', 2000],
  ] as const;
  it.each(rates)('%s is sampled at %d Hz', (kind, sampleRateHz) => {
    expect(resolveScenario({ response: { kind } }).converter.sampleRateHz).toBe(sampleRateHz);
  });
});

import { describe, expect, it } from 'vitest';
import { NO_NOISE, noiseShape } from '../../../src/core/reading/noiseShape.ts';
import { readBeat } from '../../../src/core/reading/readBeat.ts';
import { readResponse } from '../../../src/core/reading/readResponse.ts';
import { noiseIds } from '../../../src/core/scenario/noiseIds.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { runningTruth } from '../../../src/core/session/runningTruth.ts';
import { averagingContext, startSession } from '../../../src/core/session/session.ts';
import { whiteSweeps } from '../quality/whiteSweeps.ts';
import { standardDeviation } from '../sampleStatistics.ts';

/** Reads the noise-free response of a scenario, mean of all its sweeps. */
function readTruth(document: Record<string, object>, channel = 0) {
  const session = { durationS: 20, ...document.session, mute: [...noiseIds] };
  const scenario = resolveScenario({ ...document, session });
  const context = averagingContext(scenario);
  const run = startSession(scenario, '1');
  const truth = runningTruth(context.samplesPerSweep);
  for (let sweep = run.nextSweep(); sweep; sweep = run.nextSweep()) truth.add(sweep.truthUv[channel]);
  const truthUv = new Float64Array(context.samplesPerSweep);
  truth.read(truthUv);
  return readResponse(scenario, truthUv, { ...context, rectifiedUv: 120 }, NO_NOISE);
}

const names = ({ peaks, figures }: ReturnType<typeof readTruth>) => [
  peaks.map(({ name }) => name),
  figures.map(({ name }) => name),
];
const latency = (reading: ReturnType<typeof readTruth>, name: string) =>
  reading.peaks.find((peak) => peak.name === name)?.latencyMs ?? NaN;

describe('readResponse on the truth of every kind', () => {
  it.each([
    ['click-abr', 0, ['I', 'III', 'V'], ['I–III', 'III–V', 'I–V', 'V/I']],
    ['tone-abr', 0, ['V'], ['V–SN']],
    ['cvemp', 0, ['p13', 'n23'], ['p13–n23', 'p13–n23 / activity']],
    ['ovemp', 1, ['n10', 'p15'], ['n10–p15']],
    ['middle-latency', 0, ['Na', 'Pa', 'Nb', 'Pb'], ['Na–Pa']],
    ['cortical', 0, ['P1', 'N1', 'P2'], ['N1–P2']],
    ['steady-state', 0, [], ['40.4 Hz', 'delay within a cycle']],
    ['none', 0, [], []],
    [
      'ecochg',
      0,
      ['SP', 'N1'],
      ['SP/AP by amplitude', 'SP/AP by area from the baseline', 'SP/AP by area from its own start'],
    ],
  ])('%s', (kind, channel, peaks, figures) => {
    expect(names(readTruth({ response: { kind } }, channel))).toEqual([peaks, figures]);
  });

  it('reads a silent ear as what its stimulus would evoke', () => {
    const noise = whiteSweeps('silent', 1, 320, () => 1)[0];
    const read = (stimulus: object, window: object = {}) => {
      const scenario = resolveScenario({ response: { kind: 'none' }, stimulus, window });
      const context = averagingContext(scenario);
      const trace = new Float64Array(context.samplesPerSweep).map((_, i) => noise[i % 320]);
      return readResponse(scenario, trace, { ...context, rectifiedUv: NaN }, NO_NOISE);
    };
    expect(read({}).peaks.map(({ name }) => name)).toContain('V');
    expect(read({ kind: 'modulated-tone', ratePerS: 5 }, { postMs: 100, analysisToMs: 90 }).peaks).toEqual([]);
  });

  it('follows wave V over level, and the electrocochleogram over its ratio', () => {
    const at = (levelDbNhl: number) => latency(readTruth({ stimulus: { levelDbNhl }, session: { durationS: 4 } }), 'V');
    expect(at(85)).toBeGreaterThan(5.2);
    expect(at(85)).toBeLessThan(5.4);
    expect(at(30) - at(85)).toBeCloseTo(6.91 - 5.49, 0);
    const ratios = [0.1, 0.25, 0.4, 0.55].map((summatingRatio) =>
      readTruth({ response: { kind: 'ecochg' }, ecochg: { summatingRatio } }).figures.map(({ value }) => value),
    );
    for (const k of [0, 1, 2]) {
      const values = ratios.map((row) => row[k]);
      expect(values).toEqual([...values].sort((a, b) => a - b));
    }
    // AP is read from the baseline to N1, so it holds part of the SP; the shoulder holds the foot of the AP.
    expect(ratios[1][0]).toBeGreaterThan(0.2);
    expect(ratios[1][0]).toBeLessThan(0.26);
  });

  it('corrects p13–n23 for the contraction', () => {
    const [raw, corrected] = readTruth({ response: { kind: 'cvemp' } }).figures;
    expect(corrected.value).toBeCloseTo(raw.value / 120, 12);
  });
});

describe('readBeat', () => {
  const sine = (sizeUv: number, delayMs: number) =>
    Float64Array.from({ length: 1000 }, (_, i) => sizeUv * Math.sin(2 * Math.PI * 0.04 * (i - delayMs)));

  it.each([1, 3, 11, 20, 24])('finds size and delay of a sine: %i ms', (delayMs) => {
    const [size, delay] = readBeat(sine(0.3, delayMs), 0, 1000, 1000, 40);
    expect(size.value).toBeCloseTo(0.3, 10);
    expect(delay.value % 25).toBeCloseTo(delayMs, 6);
    expect(size.meaningful).toBe(true);
  });

  it('calls noise meaningless in 96 % and knows its σ: 400 traces', () => {
    const traces = whiteSweeps('beat', 400, 500, () => 1);
    const noise = traces.map((trace) => readBeat(trace, 0, 500, 500, 40)[0]);
    const called = noise.filter(({ meaningful }) => meaningful).length / 400;
    // σ comes from 16 neighbours: Rayleigh's 4.4 % at 2.5 σ becomes (1 + 2.5²/32)^−16 = 5.4 %.
    expect(Math.abs(called - 0.054)).toBeLessThan(4 * Math.sqrt((0.054 * 0.946) / 400));
    const withSine = traces.map((trace) => {
      const sum = trace.map((value, i) => value + Math.sin(2 * Math.PI * 0.08 * i));
      return readBeat(sum, 0, 500, 500, 40)[0].value;
    });
    const sd = Math.sqrt(2 / 500);
    expect(Math.abs(standardDeviation(withSine) / sd - 1)).toBeLessThan(4 / Math.sqrt(800) + 0.01);
  });

  it('refuses an empty window and frequencies beyond the half of the sample rate', () => {
    expect(() => readBeat(sine(1, 0), 5, 5, 1000, 40)).toThrow(/window must lie within 0 to 1000, got 5 to 5$/);
    expect(() => readBeat(sine(1, 0), 0, 1000, 1000, 500)).toThrow(/frequency must lie between 0 and 500 Hz, got 500$/);
  });
});

describe('readCochlear', () => {
  it('gives its ratios an interval from the noise', () => {
    const scenario = resolveScenario({ response: { kind: 'ecochg' } });
    const context = averagingContext(scenario);
    const shape = noiseShape(whiteSweeps('ecochg', 1, context.samplesPerSweep, () => 0.02)[0], 0, 200, 32000);
    const trace = new Float64Array(context.samplesPerSweep);
    for (let i = 0; i < trace.length; i++) {
      const t = ((i - context.preSampleCount) * 1000) / 32000;
      trace[i] = -0.3 * Math.exp(-0.5 * ((t - 1.6) / 0.2) ** 2) - (t > 0.7 && t < 2.4 ? 0.08 : 0);
    }
    const { figures } = readResponse(scenario, trace, { ...context, rectifiedUv: NaN }, shape);
    expect(figures).toHaveLength(3);
    for (const { value, low, high } of figures) {
      expect(low).toBeLessThan(value);
      expect(high).toBeGreaterThan(value);
    }
  });
});

import { describe, expect, it } from 'vitest';
import { digitalFilters } from '../../src/core/chain/digitalFilters.ts';
import { coupling, type Section } from '../../src/core/chain/filters.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { laneErrors } from './raceRuns.ts';

/**
 * Residual of locked mains in a plain mean: A·|D_N(h·f₀/r)|·|sinc(2·h·f₀·J)|, D_N(x) = sin(πNx)/(N·sin πx).
 *
 * Source: the geometric sum of N phasors (Dirichlet kernel) and the mean of a phasor over a uniform phase; any
 * textbook of signal processing, derived here, no table.
 */
const dirichlet = (x: number, n: number) => {
  const near = x - Math.round(x);
  return Math.abs(near) < 1e-12 ? 1 : Math.abs(Math.sin(Math.PI * n * near) / (n * Math.sin(Math.PI * near)));
};
const sinc = (x: number) => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));

function magnitude(sections: readonly Section[], turns: number): number {
  const power = (b0: number, b1: number, b2: number) => {
    const re = b0 + b1 * Math.cos(2 * Math.PI * turns) + b2 * Math.cos(4 * Math.PI * turns);
    const im = b1 * Math.sin(2 * Math.PI * turns) + b2 * Math.sin(4 * Math.PI * turns);
    return Math.hypot(re, im);
  };
  return sections.reduce((product, s) => (product * power(s.b0, s.b1, s.b2)) / power(1, s.a1, s.a2), 1);
}

/** Amplitude of one frequency in a stretch of samples, by least squares on cosine and sine. */
function amplitudeAt(values: Float64Array, turns: number): number {
  let cc = 0;
  let cs = 0;
  let ss = 0;
  let xc = 0;
  let xs = 0;
  for (let i = 0; i < values.length; i++) {
    const c = Math.cos(2 * Math.PI * turns * i);
    const s = Math.sin(2 * Math.PI * turns * i);
    cc += c * c;
    cs += c * s;
    ss += s * s;
    xc += values[i] * c;
    xs += values[i] * s;
  }
  const determinant = cc * ss - cs * cs;
  return Math.hypot((xc * ss - xs * cs) / determinant, (xs * cc - xc * cs) / determinant);
}

const AMPLITUDE_UV = 4;
const SECONDS = 100;
const SAMPLE_RATE_HZ = 8000;

function residualUv(ratePerS: number, jitterMs: number, harmonic: number): { measuredUv: number; fullUv: number } {
  const document = {
    session: { durationS: SECONDS },
    stimulus: { ratePerS, jitterMs },
    response: { kind: 'none' },
    eeg: { slowUv: 0, floorNvPerRtHz: 0 },
    drift: { walkUvPerRtS: 0 },
    amplifier: { noiseNvPerRtHz: 0 },
    mains: {
      fundamentalUv: AMPLITUDE_UV,
      harmonicRatios: Array.from({ length: harmonic }, (_, h) => (h + 1 === harmonic ? 1 : 0)),
      wanderHz: 0,
    },
    converter: { sampleRateHz: SAMPLE_RATE_HZ, bits: 24 },
    window: { preMs: 1, postMs: 15, analysisFromMs: 0, analysisToMs: 14 },
  };
  const count = Math.floor(SECONDS * ratePerS);
  const [[errorUv]] = laneErrors(document, 'lock', [{ strategy: 'plain-mean', parameters: {} }], [count]);
  const scenario = resolveScenario(document);
  const turns = (50 * harmonic) / SAMPLE_RATE_HZ;
  const chain = [coupling(scenario.amplifier.couplingHz, SAMPLE_RATE_HZ), ...digitalFilters(scenario)];
  return { measuredUv: amplitudeAt(errorUv, turns), fullUv: AMPLITUDE_UV * magnitude(chain, turns) };
}

const cases = [
  // rate, harmonic, jitter ms, why
  [25, 1, 0, 'locks: every sweep sees the same phase, nothing averages out'],
  [20, 1, 0, 'half lock: alternate sweeps cancel'],
  [20, 2, 0, 'the even harmonics lock at 20/s'],
  [33.3, 3, 0, 'third harmonic near half lock'],
  [24.99, 1, 0, 'a hundredth of a cycle off: 100 s are one whole beat and a half'],
  [37.7, 3, 0, '0.02 from a lock'],
  [27.7, 1, 0, 'a safe rate'],
  [31, 2, 0, 'a safe rate, second harmonic'],
  [25, 1, 2, 'jitter of ±2 ms: a tenth of a cycle each way'],
  [25, 1, 5, '±5 ms: half of a cycle in all'],
  [25, 1, 10, '±10 ms: one whole cycle, the lock is gone'],
] as const;

describe('mains locked with the stimulus', () => {
  it.each(cases)('at %f/s leaves harmonic %i as D_N says, jitter ±%f ms: %s', (ratePerS, harmonic, jitterMs) => {
    const { measuredUv, fullUv } = residualUv(ratePerS, jitterMs, harmonic);
    const count = Math.floor(SECONDS * ratePerS);
    const lock = dirichlet((50 * harmonic) / ratePerS, count);
    const blur = Math.abs(sinc((2 * 50 * harmonic * jitterMs) / 1000));
    // What chance leaves: random phases of jitter, and stimuli rounded to whole samples (uniform in ±½ sample).
    const rounding = Math.PI * 50 * harmonic * (1 / SAMPLE_RATE_HZ) * Math.sqrt(1 / 3);
    const scatter = Math.sqrt((1 - blur * blur + rounding * rounding) / count);
    const tolerance = 0.01 * lock * blur + 4 * scatter;
    expect(Math.abs(measuredUv / fullUv - lock * blur)).toBeLessThan(tolerance);
  });
});

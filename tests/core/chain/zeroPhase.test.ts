import { describe, expect, it } from 'vitest';
import { butterworth } from '../../../src/core/chain/filters.ts';
import { zeroPhase } from '../../../src/core/chain/zeroPhase.ts';

const RATE = 1000;
const band = [...butterworth('high-pass', 2, 5, RATE), ...butterworth('low-pass', 2, 100, RATE)];
const lowPass = butterworth('low-pass', 3, 40, RATE);

describe('zeroPhase', () => {
  it.each([
    ['band', band],
    ['low-pass', lowPass],
  ])('%s: the answer to an impulse is symmetrical, so nothing is delayed', (_name, sections) => {
    const impulse = new Float64Array(4001);
    impulse[2000] = 1;
    const answer = zeroPhase(sections, impulse, 500);
    const peak = Math.max(...answer);
    expect(answer.indexOf(peak)).toBe(2000);
    for (let k = 0; k <= 1500; k++) expect(Math.abs(answer[2000 + k] - answer[2000 - k])).toBeLessThan(1e-9);
  });

  // Order 2 at its corner: −3 dB each way. Elsewhere the Butterworth magnitude squared, bilinear transform.
  it.each([[5], [20], [60], [100], [200]])('a tone of %d Hz keeps its phase and gets the magnitude squared', (hz) => {
    const tone = Float64Array.from({ length: 8000 }, (_, i) => Math.sin((2 * Math.PI * hz * i) / RATE + 0.7));
    const answer = zeroPhase(band, tone, 1000);
    const warped = (f: number) => Math.tan((Math.PI * f) / RATE);
    const gain = 1 / (1 + (warped(5) / warped(hz)) ** 4) / (1 + (warped(hz) / warped(100)) ** 4);
    for (let i = 3000; i < 5000; i++) expect(Math.abs(answer[i] - gain * tone[i])).toBeLessThan(1e-6);
  });

  const constants = [
    ['low-pass', lowPass, 1, 'passes whole'],
    ['band', band, 0, 'the high-pass blocks it'],
  ] as const;
  it.each(constants)('a constant through the %s', (_name, sections, gain, why) => {
    const answer = zeroPhase(sections, new Float64Array(500).fill(7), 100);
    for (const value of answer) expect(Math.abs(value - 7 * gain), why).toBeLessThan(1e-9);
  });

  it('starts and ends without ringing: a straight line through a low-pass stays one', () => {
    const line = Float64Array.from({ length: 2000 }, (_, i) => 3 + 0.01 * i);
    const answer = zeroPhase(lowPass, line, 300);
    for (let i = 0; i < 2000; i++) expect(Math.abs(answer[i] - line[i])).toBeLessThan(1e-3);
  });

  it('is the same forwards and backwards in time', () => {
    const signal = Float64Array.from({ length: 1500 }, (_, i) => Math.sin(i * i * 1e-4) + (i % 7));
    const forward = zeroPhase(band, signal, 1499);
    const backward = zeroPhase(band, signal.slice().reverse(), 1499).reverse();
    // The ends know which way the filter ran first; the middle does not.
    for (let i = 600; i < 900; i++) expect(Math.abs(forward[i] - backward[i])).toBeLessThan(1e-6);
  });

  it('leaves the signal as it was, keeps its length, pads no more than there is', () => {
    const signal = Float64Array.of(1, 2, 4);
    expect(zeroPhase(lowPass, signal, 1e6)).toHaveLength(3);
    expect(zeroPhase(lowPass, signal, 0)).toHaveLength(3);
    expect(zeroPhase(lowPass, signal, -5)).toHaveLength(3);
    expect(signal).toEqual(Float64Array.of(1, 2, 4));
  });

  it.each([[0], [1]])('refuses %i samples', (count) => {
    const rule = new RangeError(`zeroPhase: signal must have at least 2 samples, got ${count}`);
    expect(() => zeroPhase(lowPass, new Float64Array(count), 10)).toThrow(rule);
  });
});

import { describe, expect, it } from 'vitest';
import { nextGaussian, stream } from '../../../src/core/random/stream.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { type LaneSetting, laneOf } from '../../../src/core/session/lanes.ts';
import type { RecordedSignal, RecordingOrder } from '../../../src/core/session/recordingOrder.ts';
import { runRecording } from '../../../src/core/session/recordingRun.ts';

const RATE_HZ = 500;
const lanes: LaneSetting[] = [
  { strategy: 'plain-mean', parameters: {} },
  { strategy: 'threshold-rejection', parameters: { thresholdUv: 40, skipMs: 0 } },
];
const order: RecordingOrder = { windowMs: [-100, 400], bandHz: [1, 40], lanes, seed: '1' };

/** White noise of 5 µV with a bump of 4 µV, 200 ms after each of 60 events a second apart. */
function signal(bumpUv: number, seed = 'a'): RecordedSignal {
  const draws = stream(seed, 'recording');
  const samplesUv = Float64Array.from({ length: 62 * RATE_HZ }, () => 5 * nextGaussian(draws));
  const eventTimesS = Array.from({ length: 60 }, (_, k) => k + 1);
  for (const timeS of eventTimesS) {
    for (let i = -40; i <= 40; i++) {
      samplesUv[Math.round((timeS + 0.2) * RATE_HZ) + i] += bumpUv * Math.exp(-0.5 * (i / 10) ** 2);
    }
  }
  return { samplesUv, sampleRateHz: RATE_HZ, eventTimesS };
}

describe('runRecording', () => {
  it('finds the bump where it is, well above random windows', () => {
    const result = runRecording([signal(4)], order);
    const { averageUv, averageNv, randomWindowNv, splitCorrelation, halvesCorrelation } = result.lanes[0];
    const at = averageUv.indexOf(Math.max(...averageUv));
    expect(Math.abs(result.firstSampleMs + (1000 * at) / RATE_HZ - 200)).toBeLessThanOrEqual(6);
    expect(averageNv).toBeGreaterThan(2 * randomWindowNv);
    expect(splitCorrelation).toBeGreaterThan(0.7);
    expect(halvesCorrelation).toBeGreaterThan(0.7);
  });

  it('shows no more than random windows where there is nothing', () => {
    const { averageNv, randomWindowNv } = runRecording([signal(0)], order).lanes[0];
    expect(averageNv).toBeLessThan(1.6 * randomWindowNv); // one average against the rms of 20, some 25 points each
  });

  it('skips events whose window leaves the recording or touches a gap, and counts them', () => {
    const { samplesUv, sampleRateHz, eventTimesS } = signal(4);
    const early = { samplesUv, sampleRateHz, eventTimesS: [0.01, ...eventTimesS, 61.9, 400] };
    expect(runRecording([early], order)).toMatchObject({ sweepsOffered: 60, eventsSkipped: 3 });
    const gap = { ...early, eventTimesS, missing: [{ startS: 10.05, endS: 11.05 }] };
    expect(runRecording([gap], order)).toMatchObject({ sweepsOffered: 58, eventsSkipped: 2 });
  });

  it('offers the sweeps of several recordings together', () => {
    expect(runRecording([signal(4), signal(4, 'b')], order).sweepsOffered).toBe(120);
  });

  it('does not depend on an offset of the recording, and scales with it', () => {
    const plain = runRecording([signal(4)], order).lanes[0];
    const { samplesUv, ...rest } = signal(4);
    const moved = runRecording([{ ...rest, samplesUv: samplesUv.map((value) => value + 30000) }], order).lanes[0];
    const twice = runRecording([{ ...rest, samplesUv: samplesUv.map((value) => 2 * value) }], order).lanes[0];
    expect(moved.averageNv / plain.averageNv).toBeCloseTo(1, 6);
    expect(twice.ownNoiseNv / plain.ownNoiseNv).toBeCloseTo(2, 9);
  });

  it('lets a strategy that asks for it hear what lies between the sweeps: a hum that locks is taken off, the bump is not', () => {
    const { samplesUv, ...rest } = signal(4);
    const hum = {
      ...rest,
      samplesUv: samplesUv.map((value, i) => value + 20 * Math.sin((2 * Math.PI * 50 * i) / RATE_HZ)),
    };
    const parameters = laneOf(resolveScenario({}), 'state-space', { harmonicCount: 1 }).parameters;
    const both = [lanes[0], { strategy: 'state-space', parameters }];
    const { lanes: results, firstSampleMs } = runRecording([hum], { ...order, bandHz: [1, 100], lanes: both });
    const [plain, states] = results;
    expect(plain.averageNv).toBeGreaterThan(10000); // 20 µV of hum, the same in every sweep
    expect(states.averageNv).toBeLessThan(3000);
    const at = states.averageUv.indexOf(Math.max(...states.averageUv));
    expect(Math.abs(firstSampleMs + (1000 * at) / RATE_HZ - 200)).toBeLessThanOrEqual(12);
    expect(Math.max(...states.averageUv)).toBeGreaterThan(2.5);
  });

  it('proposes a rejection limit of 2.5 times the median peak', () => {
    const [, lane] = runRecording([signal(0)], { ...order, automaticThreshold: true }).lanes;
    const result = runRecording([signal(0)], order);
    const peaks = result.sweepsUv.map((sweepUv) => Math.max(...sweepUv.map(Math.abs))).sort((a, b) => a - b);
    expect(lane.parameters.thresholdUv).toBe(Number((2.5 * peaks[30]).toPrecision(2)));
  });

  it.each([
    [{ bandHz: [0, 40] }, 'band must rise'],
    [{ bandHz: [1, 250] }, 'half the sample rate (250 Hz), got 1,250'],
    [{ windowMs: [-100, -50] }, 'window must end after the event'],
    [{ windowMs: [0, 10] }, 'hold 8 samples, got 0,10 ms'],
    [{ analysisMs: [300, 500] }, 'analysis window must lie within -100 to 400 ms'],
  ] as [Partial<RecordingOrder>, string][])('refuses %j', (change, message) => {
    expect(() => runRecording([signal(4)], { ...order, ...change })).toThrow(message);
  });

  it('refuses none, mixed rates, and too few sweeps', () => {
    expect(() => runRecording([], order)).toThrow('at least one recording');
    for (const absurd of [1e30, Number.NaN, -Infinity]) {
      const broken = signal(4);
      broken.samplesUv[99] = absurd;
      const where = `got ${absurd} at sample 100 of recording 1`;
      expect(() => runRecording([broken], order)).toThrow(where);
    }
    expect(() => runRecording([signal(4), { ...signal(4), sampleRateHz: 250 }], order)).toThrow(
      '500 Hz like the first',
    );
    expect(() => runRecording([{ ...signal(4), eventTimesS: [1, 2, 3] }], order)).toThrow('at least 8 sweeps');
  });
});

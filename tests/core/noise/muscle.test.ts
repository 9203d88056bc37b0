import { beforeAll, describe, expect, it } from 'vitest';
import { muscle } from '../../../src/core/noise/muscle.ts';
import { swallow } from '../../../src/core/noise/swallow.ts';
import { correlation, mean, median, rms, standardDeviation, standardError } from '../sampleStatistics.ts';
import { playInBlocks, playNoise } from './playNoise.ts';

// A slow converter makes long recordings cheap; burst times do not depend on it.
const SAMPLE_RATE_HZ = 1000;
const slow = { converter: { sampleRateHz: SAMPLE_RATE_HZ }, filter: { lowPassHz: 400 } };

interface Stretch {
  fromS: number;
  lengthS: number;
  /** rms of each channel, rise and fall left out. */
  rmsUv: [number, number];
}

/** Finds the stretches that are not exactly silent; a burst's envelope is 0 at its first and last sample. */
function stretches(section: object, durationS: number): Stretch[] {
  const found: Stretch[] = [];
  let from = -1;
  let sounding: [number, number][] = [];
  const close = (end: number) => {
    const inner = sounding.slice(80, -80);
    found.push({
      fromS: (from - 1) / SAMPLE_RATE_HZ,
      lengthS: (end - from + 2) / SAMPLE_RATE_HZ,
      rmsUv: [0, 1].map((c) => Math.sqrt(mean(inner.map((pair) => pair[c] ** 2)))) as [number, number],
    });
    from = -1;
    sounding = [];
  };
  playInBlocks(muscle, { ...slow, muscle: section }, durationS * SAMPLE_RATE_HZ, 65536, ([here, there], start) => {
    for (let i = 0; i < here.length; i++) {
      if (here[i] !== 0 || there[i] !== 0) {
        if (from < 0) from = start + i;
        sounding.push([here[i], there[i]]);
      } else if (from >= 0) close(start + i);
    }
  });
  return found;
}

describe('muscle: when bursts come', () => {
  const burstsPerS = 0.1;
  const durationS = 20_000;
  let found: Stretch[];
  beforeAll(() => {
    found = stretches({ burstsPerS, durationS: 1, durationLogSd: 0 }, durationS);
  });

  it('as many as a Poisson process gives: 4 standard errors', () => {
    // Bursts of 1 s overlap; those that begin in silence are a share e^(−rate·length) (queue M/G/∞, from memory).
    const expected = burstsPerS * durationS * Math.exp(-burstsPerS * 1);
    expect(Math.abs(found.length - expected)).toBeLessThan(4 * Math.sqrt(expected));
  });

  it('with exponential gaps, each on its own: mean, spread and correlation within 4 standard errors', () => {
    const gapsS = found.slice(1).map((stretch, k) => stretch.fromS - found[k].fromS - found[k].lengthS);
    const root = Math.sqrt(gapsS.length);
    expect(Math.abs(mean(gapsS) - 1 / burstsPerS)).toBeLessThan(4 / burstsPerS / root);
    // The sample standard deviation of exponential numbers errs by √2 of the mean's error.
    expect(Math.abs(standardDeviation(gapsS) - 1 / burstsPerS)).toBeLessThan((4 * Math.SQRT2) / burstsPerS / root);
    expect(Math.abs(correlation(gapsS, gapsS, 1))).toBeLessThan(4 / root);
  });
});

describe('muscle: how long and how large', () => {
  const count = 1000;
  let found: Stretch[];
  beforeAll(() => {
    // Rare, so that only 1 % of them overlap.
    found = stretches(
      { burstsPerS: 0.005, durationS: 2, durationLogSd: 0.3, burstUv: 25, burstLogSd: 0.5, contralateralGain: 0.4 },
      count / 0.005,
    );
  });

  it('length: log-normal about its median: 4 standard errors', () => {
    const logs = found.map(({ lengthS }) => Math.log(lengthS));
    const se = 0.3 / Math.sqrt(logs.length);
    expect(Math.abs(median(logs) - Math.log(2))).toBeLessThan(4 * se * Math.sqrt(Math.PI / 2));
    expect(Math.abs(standardDeviation(logs) - 0.3)).toBeLessThan((4 * se) / Math.SQRT2 + 0.01); // 0.01: overlaps
  });

  it('size: log-normal about its median, in its channel’s gain: 4 standard errors', () => {
    const usable = found.filter(({ lengthS }) => lengthS > 0.5);
    for (const [c, gain] of [1, 0.4].entries()) {
      const logs = usable.map(({ rmsUv }) => Math.log(rmsUv[c]));
      const se = 0.5 / Math.sqrt(logs.length);
      expect(Math.abs(median(logs) - Math.log(25 * gain))).toBeLessThan(4 * se * Math.sqrt(Math.PI / 2));
      expect(Math.abs(standardDeviation(logs) - 0.5)).toBeLessThan((4 * se) / Math.SQRT2 + 0.01);
    }
  });

  it('size is common to both channels and does not follow from length', () => {
    const [here, there] = [0, 1].map((c) => found.map(({ rmsUv }) => Math.log(rmsUv[c])));
    expect(correlation(here, there)).toBeGreaterThan(0.9);
    const lengths = found.map(({ lengthS }) => Math.log(lengthS));
    expect(Math.abs(correlation(here, lengths))).toBeLessThan(4 / Math.sqrt(found.length));
  });
});

describe('muscle: the shape of a burst', () => {
  const rate = 16000;
  const section = { burstsPerS: 0.4, durationS: 0.5, durationLogSd: 0, burstUv: 10, burstLogSd: 0 };
  const [here, there] = playNoise(muscle, { muscle: section }, 600 * rate);
  const onsets: number[] = [];
  const ends: number[] = [];
  for (let i = 1; i < here.length; i++) {
    if (here[i] !== 0 && here[i - 1] === 0) onsets.push(i - 1);
    if (here[i] === 0 && here[i - 1] !== 0) ends.push(i);
  }
  const alone = onsets.filter((onset, k) => Math.abs(ends[k] - onset - 0.5 * rate) <= 2);

  it('is exactly silent outside bursts', () => {
    const silent = here.reduce((sum, value) => sum + (value === 0 ? 1 : 0), 0) / here.length;
    expect(Math.abs(silent - Math.exp(-0.4 * 0.5))).toBeLessThan(0.05); // 4 standard errors of about 0.012
    expect(alone.length).toBeGreaterThan(100);
  });

  /** Mean square of all lone bursts between two times after their onset, of the plateau’s 100 µV². */
  function powerAt(fromMs: number, toMs: number, trace = here) {
    const powers = alone.map((onset) =>
      mean(trace.subarray(onset + (fromMs * rate) / 1000, onset + (toMs * rate) / 1000).map((value) => value * value)),
    );
    return { power: mean(powers), se: standardError(powers) };
  }

  it('rises smoothly in 30 to 80 ms and falls as it rose: 4 standard errors', () => {
    // The smooth step 3u² − 2u³ squared, averaged over rises drawn uniformly from 30 to 80 ms.
    const step = (ms: number, riseMs: number) => (ms < riseMs ? 3 * (ms / riseMs) ** 2 - 2 * (ms / riseMs) ** 3 : 1);
    const expectedAt = (ms: number) => mean(Array.from({ length: 501 }, (_, k) => 100 * step(ms, 30 + k / 10) ** 2));
    for (const ms of [2, 6, 10, 15, 20, 30, 40, 50, 65]) {
      for (const fromMs of [ms, 500 - ms - 1]) {
        const { power, se } = powerAt(fromMs, fromMs + 1);
        expect(Math.abs(power - expectedAt(ms + 0.5)), `${fromMs} ms`).toBeLessThan(4 * se + 0.02);
      }
    }
  });

  it('holds its size on the plateau, in both channels: 4 standard errors', () => {
    for (const [trace, expected] of [
      [here, 100],
      [there, 64],
    ] as const) {
      const { power, se } = powerAt(80, 420, trace);
      expect(Math.abs(power - expected)).toBeLessThan(4 * se);
    }
  });

  it('has independent noise in the two channels', () => {
    const pieces = alone.map((onset) =>
      correlation(here.subarray(onset + 1300, onset + 6700), there.subarray(onset + 1300, onset + 6700)),
    );
    expect(Math.abs(mean(pieces))).toBeLessThan(4 * standardError(pieces));
  });
});

describe('muscle: one thing changed', () => {
  const base = { burstsPerS: 2, durationS: 0.3 };
  const [here] = playNoise(muscle, { muscle: base }, 160_000);

  it('a larger burst is the same burst, larger', () => {
    const [large] = playNoise(muscle, { muscle: { ...base, burstUv: 50 } }, 160_000);
    expect(large).toEqual(here.map((value) => 2 * value));
  });

  it('the other channel’s gain does not touch this one', () => {
    const [same, other] = playNoise(muscle, { muscle: { ...base, contralateralGain: 0 } }, 160_000);
    expect(same).toEqual(here);
    expect(other.every((value) => value === 0)).toBe(true);
  });

  it('overlapping bursts add their envelopes', () => {
    // Bursts of 20 s at 5 per second: about 100 at a time, so the size is about 100 bursts of 1 µV.
    const crowd = { burstsPerS: 5, durationS: 20, durationLogSd: 0, burstUv: 1, burstLogSd: 0 };
    const seconds: number[] = [];
    playInBlocks(muscle, { ...slow, muscle: crowd }, 300_000, 1000, ([channel], start) => {
      if (start > 30_000) seconds.push(Math.sqrt(mean(channel.map((value) => value * value))));
    });
    // The number playing is Poisson with mean 100 and a memory of about 20 s: 270 s hold 13 independent counts.
    expect(Math.abs(mean(seconds) - 100)).toBeLessThan((4 * 10) / Math.sqrt(13));
  });
});

describe('a clench and a swallow that are asked for', () => {
  const asked = [
    ['jaw', muscle, 'muscle', 60],
    ['throat', swallow, 'swallow', 40],
  ] as const;
  it.each(asked)('%s: held at its size, on top of bursts that stay as they were', (_name, source, section, heldUv) => {
    const bursts = { burstsPerS: 0.5 };
    const play = (keys: object) => playNoise(source, { ...slow, [section]: keys }, 60 * SAMPLE_RATE_HZ);
    const [here, there] = play({ heldUv });
    // Muscle noise of 40–220 Hz has over 100 independent values a second: 60 s know its size to 1 %.
    expect(rms(here) / heldUv).toBeGreaterThan(0.96 * gainOf[section]);
    expect(rms(here) / heldUv).toBeLessThan(1.04 * gainOf[section]);
    expect(Math.abs(correlation(here, there))).toBeLessThan(0.06);
    const both = play({ ...bursts, heldUv });
    const alone = play(bursts);
    for (let i = 0; i < here.length; i++) expect(both[0][i] - here[i]).toBeCloseTo(alone[0][i], 9);
  });
  const gainOf = { muscle: 1, swallow: 0.8 }; // mastoid to vertex, as the table of the electrode sites says
});

import { describe, expect, it } from 'vitest';
import { breathingRhythm } from '../../../src/core/noise/breathingRhythm.ts';
import { heart } from '../../../src/core/noise/heart.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { correlation, mean, standardDeviation } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const SAMPLE_RATE_HZ = 1000;
const slow = { converter: { sampleRateHz: SAMPLE_RATE_HZ }, filter: { lowPassHz: 400 } };

/** Times of the main peaks, s. */
function peaks(trace: Float64Array, limitUv: number): number[] {
  const found: number[] = [];
  for (let i = 1; i + 1 < trace.length; i++) {
    if (trace[i] > limitUv && trace[i] > trace[i - 1] && trace[i] >= trace[i + 1]) found.push(i / SAMPLE_RATE_HZ);
  }
  return found;
}
const intervals = (times: readonly number[]) => times.slice(1).map((time, k) => time - times[k]);

describe('heart: the rhythm', () => {
  it('beats every 0.85 s with a scatter of 0.06 s when breath has no part in it: 4 standard errors', () => {
    const section = { qrsUv: 15, breathingShare: 0 };
    const beats = intervals(peaks(playNoise(heart, { ...slow, heart: section }, 4_000_000)[0], 10));
    const root = Math.sqrt(beats.length);
    expect(beats.length).toBeGreaterThan(4500);
    expect(Math.abs(mean(beats) - 0.85)).toBeLessThan((4 * 0.06) / root);
    expect(Math.abs(standardDeviation(beats) - 0.06)).toBeLessThan((4 * 0.06) / root / Math.SQRT2 + 0.0005);
    expect(Math.abs(correlation(beats, beats, 1))).toBeLessThan(4 / root);
  });

  it('follows the breath by its share', () => {
    const document = { ...slow, heart: { qrsUv: 15, breathingShare: 0.1, beatSdS: 0 } };
    const times = peaks(playNoise(heart, document, 600_000)[0], 10);
    const rhythm = breathingRhythm(resolveScenario(document), '7');
    for (const [k, beatS] of intervals(times).entries()) {
      const breath = Math.sin(2 * Math.PI * rhythm.turnsAtStep(Math.floor((times[k] * SAMPLE_RATE_HZ) / 32)));
      // Peaks are whole samples, and the breath is read within one step of 32 ms: 0.1·2π·0.25·0.032·0.85 = 4 ms.
      expect(Math.abs(beatS - 0.85 * (1 + 0.1 * breath))).toBeLessThan(0.007);
    }
  });
});

describe('heart: the beat', () => {
  const section = { qrsUv: 15, beatSdS: 0, breathingShare: 0 };
  const cases = [
    // site, peak µV, other side µV, why
    ['mastoid', 15, -12, 'small on the head, opposite on its two sides'],
    ['earlobe', 15, -12, 'as the mastoid'],
    ['neck', 600, 480, 'large between neck and breastbone: 300 to 1000'],
    ['infra-orbital', 15, -12, 'small'],
  ] as const;
  it.each(cases)('at %s: %f and %f µV (%s)', (site, peakUv, otherUv) => {
    const [here, there] = playNoise(
      heart,
      { ...slow, heart: section, response: { kind: 'none' }, montage: { site } },
      20_000,
    );
    const at = here.indexOf(Math.max(...here));
    expect(Math.abs(here[at] / peakUv - 1)).toBeLessThan(0.02);
    expect(Math.abs(there[at] / otherUv - 1)).toBeLessThan(0.02);
  });

  it('has a complex of about 80 ms and a T wave 280 ms later', () => {
    const [here] = playNoise(heart, { ...slow, heart: section }, 20_000);
    const at = peaks(here, 10)[3] * SAMPLE_RATE_HZ;
    let first = at;
    let last = at;
    for (let i = at - 80; i <= at + 80; i++) {
      if (Math.abs(here[i]) > 0.05 * 15) {
        first = Math.min(first, i);
        last = Math.max(last, i);
      }
    }
    expect(last - first).toBeGreaterThan(70);
    expect(last - first).toBeLessThan(95);
    const after = here.subarray(at + 200, at + 380);
    expect(Math.abs(after.indexOf(Math.max(...after)) + 200 - 280)).toBeLessThan(5);
  });
});

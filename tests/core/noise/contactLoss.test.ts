import { describe, expect, it } from 'vitest';
import { contactLosses } from '../../../src/core/noise/contactLoss.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const losing = (keys: object) => resolveScenario({ electrodes: keys });

describe('contactLosses', () => {
  it('never happen by default, nor to an open lead', () => {
    expect(contactLosses(losing({}), '7').never).toBe(true);
    expect(contactLosses(losing({ common: { open: true, lossesPerS: 1 } }), '7').never).toBe(true);
  });

  it('come as often and last as long as told: 4 standard errors', () => {
    const losses = contactLosses(losing({ ipsilateral: { lossesPerS: 0.1 }, lossS: 2, lossLogSd: 0.5 }), '7');
    const stepS = 0.05;
    const lengths: number[] = [];
    let last = false;
    let onsets = 0;
    for (let k = 0; k < 400_000; k++) {
      const now = losses.isLost('ipsilateral', k * stepS);
      if (now && !last) {
        onsets++;
        lengths.push(0);
      }
      if (now) lengths[lengths.length - 1] += stepS;
      last = now;
    }
    const sorted = lengths.sort((a, b) => a - b);
    const median = sorted[sorted.length >> 1];
    // Median of a log-normal: error 1.253·0.5/√n of itself. 20 000 s hold about 1600 losses.
    expect(onsets).toBeGreaterThan(1400);
    expect(Math.abs(Math.log(median / 2))).toBeLessThan((4 * 1.253 * 0.5) / Math.sqrt(onsets) + stepS / 2);
    // A gap is exponential with mean 10 s, a loss lasts 2·e^(0.125) s on average.
    const cycleS = 10 + 2 * Math.exp(0.125);
    expect(Math.abs(onsets / (20_000 / cycleS) - 1)).toBeLessThan(4 / Math.sqrt(onsets));
  });

  it('tell each who asks the same, and each electrode its own', () => {
    const all = Object.fromEntries(['common', 'ipsilateral', 'ground'].map((name) => [name, { lossesPerS: 0.5 }]));
    const [one, two] = [0, 1].map(() => contactLosses(losing(all), '7'));
    const story = (losses: typeof one, electrode: 'common' | 'ipsilateral' | 'ground') =>
      Array.from({ length: 200 }, (_, k) => Number(losses.isLost(electrode, k / 5))).join('');
    expect(story(one, 'common')).toBe(story(two, 'common'));
    expect(story(one, 'ipsilateral')).not.toBe(story(two, 'ground'));
    expect(contactLosses(losing(all), '8').isLost('contralateral', 100)).toBe(false);
  });
});

import { describe, expect, it } from 'vitest';
import { child } from '../../../src/core/noise/child.ts';
import { eeg } from '../../../src/core/noise/eeg.ts';
import { bandPowers } from '../powerSpectrum.ts';
import { mean, rms } from '../sampleStatistics.ts';
import { playInBlocks, playNoise } from './playNoise.ts';

const SAMPLE_RATE_HZ = 1000;
const slow = { converter: { sampleRateHz: SAMPLE_RATE_HZ }, filter: { lowPassHz: 400 } };

describe('EEG by state of vigilance', () => {
  const steady = { gainLogSd: 0 };
  const play = (state: string) => playNoise(eeg, { ...slow, eeg: { ...steady, state, alphaUv: 4 } }, 500_000);
  const [relaxed] = play('relaxed');

  it.each([
    ['deep-sleep', 0.7],
    ['alert', 1.5],
  ])('%s is the relaxed EEG times %f, draw by draw', (state, factor) => {
    const [other] = play(state);
    const errors = other.map((value, i) => Math.abs(value - factor * relaxed[i]));
    expect(errors.reduce((most, value) => Math.max(most, value), 0)).toBeLessThan(1e-9);
  });

  it('a sleeping infant has six times the density at the low end and 1.4 times the size where a response is', () => {
    const [infant, infantThere] = play('infant-asleep');
    const bands = [
      [0.3, 0.8],
      [100, 400],
    ] as const;
    const [low, high] = bandPowers(infant, SAMPLE_RATE_HZ, 8192, bands);
    const [lowRelaxed, highRelaxed] = bandPowers(relaxed, SAMPLE_RATE_HZ, 8192, bands);
    // Below 2 Hz: (6 − 1.96)/(1 + (f/2)²)² + 1.96, at 0.55 Hz 5.46. Both traces share the background's draws.
    const ratio = low.power / lowRelaxed.power;
    const se = Math.hypot(low.standardError / low.power, lowRelaxed.standardError / lowRelaxed.power);
    expect(Math.abs(ratio / 5.46 - 1)).toBeLessThan(4 * se + 0.03);
    expect(Math.abs(Math.sqrt(high.power / highRelaxed.power) - 1.4)).toBeLessThan(0.01);
    const covariance = mean(infant.map((value, i) => value * infantThere[i]));
    expect(Math.abs(covariance / rms(infant) / rms(infantThere) - 0.6)).toBeLessThan(0.1);
  });
});

/** Share of 100-ms pieces of a recording whose size lies within bounds, µV. */
function shareBetween(section: object, lowUv: number, highUv: number, fromS: number, toS: number): number {
  let inside = 0;
  let all = 0;
  playInBlocks(
    child,
    { ...slow, child: { present: true, spellLogSd: 0, ...section } },
    toS * 1000,
    100,
    ([here], start) => {
      if (start < fromS * 1000) return;
      const size = rms(here);
      all++;
      if (size >= lowUv && size < highUv) inside++;
    },
  );
  return inside / all;
}

describe('child: sleep, crying and boredom', () => {
  it('a sleeping infant lies still but for arousals of a second every two minutes', () => {
    const share = shareBetween({ begins: 'asleep' }, 5, Infinity, 0, 20_000);
    // Spells of 120 and 1 s: 1/121 of the time; 165 arousals with gamma lengths of shape 2, and a tail of 50 ms each.
    expect(Math.abs(share - 1 / 121)).toBeLessThan(4 * (1 / 121) * Math.sqrt(1.5 / 165) + 0.003);
  });

  it('wakes for good when told so', () => {
    const share = shareBetween(
      { begins: 'asleep', asleep: { dwellS: 10, muscleUv: 0 }, wakingChance: 1 },
      0,
      0.01,
      200,
      2000,
    );
    expect(share).toBeLessThan(0.01);
  });

  it('cries after moving as often as told', () => {
    const loud = { crying: { dwellS: 12, muscleUv: 400 } };
    expect(shareBetween(loud, 250, Infinity, 0, 5000)).toBe(0);
    // Stationary jumps by hand, with chance c = 0.5 that moving ends in crying (crying to restless .7, to quiet .3):
    // q = .7r + .4·.5m + .3c, r = .7q + .6·.5m + .7c, m = .3q + .3r, c = .5m. With q = 1: see the solution below.
    const [q, r, m, c] = stationary();
    const time = 25 * q + 8 * r + 3 * m + 12 * c;
    const share = shareBetween({ ...loud, cryingChance: 0.5 }, 250, Infinity, 0, 20_000);
    // Crying spells: about 20 000·c/time of gamma shape 2.
    const count = (20_000 * c) / time;
    expect(Math.abs(share / ((12 * c) / time) - 1)).toBeLessThan(4 * Math.sqrt(2 / count) + 0.02);
  });

  function stationary(): [number, number, number, number] {
    let [q, r, m, c] = [1, 1, 1, 1];
    for (let k = 0; k < 500; k++) {
      const next = [0.7 * r + 0.2 * m + 0.3 * c, 0.7 * q + 0.3 * m + 0.7 * c, 0.3 * q + 0.3 * r, 0.5 * m];
      const sum = next[0] + next[1] + next[2] + next[3];
      [q, r, m, c] = next.map((value) => value / sum);
    }
    return [q, r, m, c];
  }

  it('grows bored: after an hour quiet spells are less than a third of what they were', () => {
    const still = { quiet: { dwellS: 25, muscleUv: 0 } };
    const bored = { ...still, boredomPerMin: 0.05 };
    const early = shareBetween(bored, 0, 1, 0, 300);
    const late = shareBetween(bored, 0, 1, 3600, 7200);
    // 0.05/min for 60 to 120 min: hazard to restless × 4 to 7, so quiet lasts 25/(0.7·5.5 + 0.3) = 6 s instead of 25.
    expect(late).toBeLessThan(0.65 * shareBetween(still, 0, 1, 3600, 7200));
    expect(early).toBeGreaterThan(late);
  });

  it('sleeps when quiet ends in sleep', () => {
    const share = shareBetween({ sleepChance: 1, asleep: { dwellS: 120, muscleUv: 0 } }, 0, 0.01, 500, 5000);
    expect(share).toBeGreaterThan(0.9);
  });
});

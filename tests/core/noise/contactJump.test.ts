import { describe, expect, it } from 'vitest';
import { contactJump } from '../../../src/core/noise/contactJump.ts';
import { contactLosses } from '../../../src/core/noise/contactLoss.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { median } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const SAMPLE_RATE_HZ = 2048; // two looks at the contacts a second
const document = (electrodes: object) => ({
  response: { kind: 'none' },
  converter: { sampleRateHz: SAMPLE_RATE_HZ },
  filter: { lowPassHz: 800 },
  electrodes: { lossS: 3, ...electrodes },
});

/** Steps of more than 5 µV from one sample to the next: where, and how large. */
function stepsOf(samplesUv: Float64Array): { at: number; uv: number }[] {
  const steps: { at: number; uv: number }[] = [];
  for (let at = 1; at < samplesUv.length; at++) {
    const uv = samplesUv[at] - samplesUv[at - 1];
    if (Math.abs(uv) > 5) steps.push({ at, uv });
  }
  return steps;
}

describe('contactJump', () => {
  const losing = { ipsilateral: { lossesPerS: 0.2 }, lossJumpUv: 300 };
  const count = 600 * SAMPLE_RATE_HZ;
  const [ipsi, contra] = playNoise(contactJump, document(losing), count);

  it('jumps where the contact lets go and where it grips, and nowhere else', () => {
    const losses = contactLosses(resolveScenario(document(losing)), '7');
    const turns: number[] = [];
    let wasLost = false;
    for (let at = 0; at < count; at += 1024) {
      const isLost = losses.isLost('ipsilateral', at / SAMPLE_RATE_HZ);
      if (isLost !== wasLost && at > 0) turns.push(at);
      wasLost = isLost;
    }
    const steps = stepsOf(ipsi);
    expect(turns.length).toBeGreaterThan(90);
    expect(steps.map(({ at }) => at)).toEqual(turns);
    expect(contra.every((uv) => uv === 0)).toBe(true);
    // Median of a log-normal, 4 standard errors of 1.253·0.5/√n; as often up as down.
    const sizes = steps.map(({ uv }) => Math.abs(uv));
    expect(Math.abs(Math.log(median(sizes) / 300))).toBeLessThan((4 * 1.253 * 0.5) / Math.sqrt(sizes.length));
    const up = steps.filter(({ uv }) => uv > 0).length / steps.length;
    expect(Math.abs(up - 0.5)).toBeLessThan(2 / Math.sqrt(steps.length));
  });

  it('fades with a second', () => {
    const steps = stepsOf(ipsi);
    const alone = steps.findIndex(({ at }, k) => k + 1 < steps.length && steps[k + 1].at - at > 1.5 * SAMPLE_RATE_HZ);
    const { at } = steps[alone];
    expect(ipsi[at + SAMPLE_RATE_HZ] / ipsi[at]).toBeCloseTo(Math.exp(-1), 6);
  });

  it('of the common electrode is in both channels, of the ground in none', () => {
    const [first, second] = playNoise(
      contactJump,
      document({ common: { lossesPerS: 0.5 }, lossJumpUv: 300 }),
      60 * SAMPLE_RATE_HZ,
    );
    expect(first.some((uv) => Math.abs(uv) > 100)).toBe(true);
    expect(second).toEqual(first);
    const ground = playNoise(
      contactJump,
      document({ ground: { lossesPerS: 0.5 }, lossJumpUv: 300 }),
      60 * SAMPLE_RATE_HZ,
    );
    expect(ground[0].every((uv) => uv === 0)).toBe(true);
  });

  it('is none by default, and where no contact lets go', () => {
    for (const electrodes of [{ ipsilateral: { lossesPerS: 0.05 } }, { lossJumpUv: 300 }]) {
      expect(contactJump.create(resolveScenario(document(electrodes)), '1')).toBeNull();
    }
  });
});

import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const cases: [document: object, message: string, why: string][] = [
  [{ swallow: { lowHz: 200 } }, 'swallow.lowHz: must be below swallow.highHz (180 Hz), got 200', 'band upside down'],
  [
    { shiver: { highHz: 900 }, converter: { sampleRateHz: 1600 }, filter: { lowPassHz: 700 } },
    'shiver.highHz: must be below half of converter.sampleRateHz (800 Hz), got 900',
    'cannot be drawn',
  ],
  [
    { neck: { shortestHoldS: 70 } },
    'neck.shortestHoldS: must be at most neck.longestHoldS (60 s), got 70',
    'span upside down',
  ],
  [
    { diathermy: { longestS: 0.5 } },
    'diathermy.shortestS: must be at most diathermy.longestS (0.5 s), got 1',
    'span upside down',
  ],
  [{ eyes: { blinksPerS: 4 } }, 'eyes.blinksPerS: must leave the eye open a tenth of the time', 'never open'],
  [{ heart: { beatSdS: 0.5 } }, 'heart.beatSdS: must be below half of heart.beatS (0.85 s), got 0.5', 'no rhythm left'],
  [{ montage: { site: 'knee' } }, 'montage.site: must be mastoid or earlobe or canal or neck or', 'no such place'],
];

describe('rules of the disturbances', () => {
  it.each(cases)('%j: %s', (document, message) => {
    expect(() => resolveScenario(document)).toThrow(message);
  });

  it('asks nothing of a plain scenario, down to the slowest converter', () => {
    const slow = { converter: { sampleRateHz: 1000 }, filter: { lowPassHz: 400 } };
    expect(resolveScenario(slow).montage.site).toBe('mastoid');
  });
});

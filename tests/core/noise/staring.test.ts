import { describe, expect, it } from 'vitest';
import { blink } from '../../../src/core/noise/blink.ts';
import { sooner, staresOf } from '../../../src/core/noise/staring.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { playNoise } from './playNoise.ts';

const document = (rest: object = {}) => ({
  response: { kind: 'ovemp' },
  session: { durationS: 60 },
  stimulus: { ratePerS: 5, trainS: 20, restS: 10 },
  ...rest,
});
const stares = (rest: object = {}) => staresOf(resolveScenario(document(rest)));

describe('staresOf', () => {
  it('begin 8 s into each train and end with it; the recording begins half a second before the first sound', () => {
    const [first, second, third, ...more] = stares();
    expect(first).toEqual({ fromS: 8.5, toS: 20.5 });
    expect(second).toEqual({ fromS: 38.5, toS: 50.5 });
    expect(third.fromS).toBe(68.5);
    expect(third.toS).toBeCloseTo(80.3, 9); // the last sound comes a fifth of a second before the end
    expect(more).toEqual([]);
  });

  it('begin anew after a pause', () => {
    const [before, after] = stares({ events: [{ atS: 5, pauseS: 4 }] });
    expect(before.fromS).toBeCloseTo(17.5, 9); // up again at 9 s
    expect(before.toS).toBeCloseTo(24.5, 9);
    expect(after.fromS).toBeCloseTo(42.5, 9);
    const cut = stares({ events: [{ atS: 12, pauseS: 5 }] }); // 12 s before it, 8 s after it
    expect(cut[0]).toEqual({ fromS: 8.5, toS: 12.5 });
    expect(cut[1].fromS).toBeCloseTo(43.5, 9);
  });

  it('are none in short trains, straight ahead or without a response that needs the gaze', () => {
    expect(stares({ stimulus: { ratePerS: 5, trainS: 8, restS: 10 } })).toEqual([]);
    expect(stares({ gaze: { targetDeg: 0 } })).toEqual([]);
    expect(stares({ response: { kind: 'click-abr' } })).toEqual([]);
    expect(stares({ stimulus: { ratePerS: 5, trainS: 0, restS: 0 } })).toHaveLength(1);
  });
});

describe('sooner', () => {
  const spans = [
    { fromS: 10, toS: 20 },
    { fromS: 30, toS: 40 },
  ];
  it.each([
    [0, 5, 5, 'before any stare'],
    [0, 13, 11, '3 s of waiting pass in 1'],
    [0, 40, 20, 'a whole stare'],
    [0, 45, 25, 'between two'],
    [0, 53, 31, 'into the second'],
    [0, 100, 60, 'beyond all'],
    [15, 9, 18, 'begun within one'],
  ])('from %d s, waiting %d s: %d s (%s)', (fromS, waitS, expected) => {
    expect(sooner(spans, 3, fromS, waitS)).toBeCloseTo(expected, 12);
  });
});

describe('blinks while staring', () => {
  it('come as much more often as told, and before the first stare not a bit is changed; 4 standard errors', () => {
    const rate = 2000;
    const quick = (staringFactor: number, seed: string) =>
      playNoise(
        blink,
        document({
          eyes: { blinksPerS: 0.25, blinkUv: 100, blinkLogSd: 0, staringFactor },
          converter: { sampleRateHz: rate },
          filter: { lowPassHz: 500 },
        }),
        81 * rate,
        seed,
      )[0];
    let staring = 0;
    let calm = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const made = quick(4, String(seed));
      if (seed === 1) expect(made.subarray(0, 8.5 * rate)).toEqual(quick(1, '1').subarray(0, 8.5 * rate));
      for (let i = 1; i < made.length; i++) {
        if (made[i] === 0 || made[i - 1] !== 0) continue; // a blink begins
        const timeS = i / rate;
        if (stares().some(({ fromS, toS }) => timeS >= fromS && timeS < toS)) staring++;
        else calm++;
      }
    }
    // Waiting from the end of a blink to the next: 3.75 s, a quarter of it while staring; a blink lasts 0.25 s.
    const expectedRatio = (3.75 + 0.255) / (3.75 / 4 + 0.255);
    const staringS = 60 * (12 + 12 + 11.8);
    const ratio = staring / staringS / (calm / (60 * 81 - staringS));
    expect(Math.abs(Math.log(ratio / expectedRatio))).toBeLessThan(4 * Math.sqrt(1 / staring + 1 / calm));
  });
});

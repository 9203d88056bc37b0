import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { beatS, presentationAt, presentationCount, trainOf } from '../../../src/core/stimulus/schedule.ts';

const trains = (trainS: number, restS: number, ratePerS = 10) =>
  resolveScenario({ session: { durationS: 12 }, stimulus: { ratePerS, trainS, restS } });

describe('trains with rests', () => {
  const beats = [
    // train s, rest s, index, train, beat s, why
    [0, 0, 57, 0, 5.7, 'no trains: one long one'],
    [4, 3, 39, 0, 3.9, 'last of the first train'],
    [4, 3, 40, 1, 7, 'the border opens the next train, after the rest'],
    [4, 3, 119, 2, 17.9, 'two rests have passed'],
    [0.3, 1, 3, 1, 1.3, '0.3 · 10 is 2.9999999999999996 in doubles'],
    [4, 0, 40, 1, 4, 'a train without a rest changes no beat'],
  ] as const;
  it.each(beats)('%d s with %d s rest: stimulus %d is in train %d at %d s', (trainS, restS, index, train, expected) => {
    expect(trainOf(trains(trainS, restS), index)).toBe(train);
    expect(beatS(trains(trainS, restS), index)).toBeCloseTo(expected, 9);
  });

  it('rests cost no stimuli, and the sweeps come when the clock says', () => {
    const scenario = trains(4, 3);
    expect(presentationCount(scenario)).toBe(120);
    const session = startSession(scenario, '1');
    const timesS: number[] = [];
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) timesS.push(sweep.timeS);
    expect(timesS).toHaveLength(120);
    for (const [k, timeS] of timesS.entries()) expect(timeS).toBeCloseTo(beatS(scenario, k) + 0.015, 4);
  });
});

describe('polarity in blocks', () => {
  it('gives so many of one, then of the other', () => {
    const scenario = resolveScenario({ stimulus: { polarity: 'blocks', sweepsPerPolarityBlock: 3 } });
    const polarities = Array.from({ length: 10 }, (_, k) => presentationAt(scenario, 0.5, k).polarity);
    expect(polarities).toEqual([1, 1, 1, -1, -1, -1, 1, 1, 1, -1]);
  });
});

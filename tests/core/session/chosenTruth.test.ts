import { describe, expect, it } from 'vitest';
import { noiseIds } from '../../../src/core/scenario/noiseIds.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { chosenTruth } from '../../../src/core/session/chosenTruth.ts';
import { averagingContext, startSession } from '../../../src/core/session/session.ts';
import { mean, rms } from '../sampleStatistics.ts';

/** Runs a patient without noise under a truth; gives the truth and every sweep's own noise-free response. */
function play(document: Record<string, object>, truth: string, channel = 0, mute: readonly string[] = noiseIds) {
  const scenario = resolveScenario({
    ...document,
    session: { durationS: 20, ...document.session, mute: [...mute] },
    measures: { truth },
  });
  const { samplesPerSweep, analysisFrom, analysisTo, preSampleCount } = averagingContext(scenario);
  const session = startSession(scenario, '3');
  const chosen = chosenTruth(scenario, '3', channel);
  const truthUv = new Float64Array(samplesPerSweep);
  chosen.read(truthUv);
  expect(truthUv.every(Number.isNaN)).toBe(true); // nothing yet
  const responses: Float64Array[] = [];
  const recorded: Float64Array[] = [];
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    chosen.add(sweep.truthUv[channel], sweep.recordedUv[channel]);
    responses.push(sweep.truthUv[channel].slice());
    recorded.push(sweep.recordedUv[channel].slice());
  }
  chosen.read(truthUv);
  return {
    truthUv,
    responses,
    recorded,
    preSampleCount,
    inWindow: (uv: Float64Array) => uv.slice(analysisFrom, analysisTo),
  };
}

const meanOfSweeps = (sweeps: Float64Array[]) => sweeps[0].map((_, i) => mean(sweeps.map((sweep) => sweep[i])));
const difference = (a: Float64Array, b: Float64Array) => rms(a.map((value, i) => value - b[i])) / rms(b);

describe('chosenTruth', () => {
  it('session-mean: the mean of all sweeps', () => {
    const { truthUv, responses } = play({}, 'session-mean');
    expect(difference(truthUv, meanOfSweeps(responses))).toBeLessThan(1e-12);
  });

  it('current: the latest sweep, to the bit', () => {
    const { truthUv, responses } = play({}, 'current');
    expect(truthUv).toEqual(responses[responses.length - 1]);
  });

  it('normalised: what equal contraction gives, in µV of the mean contraction', () => {
    // The contraction wanders by half: the plain mean of s is then E[e]·k, the normalised one too, but sweep by sweep.
    const document = { response: { kind: 'cvemp' }, contraction: { logSd: 0.5, fatiguePerMin: 0 } };
    const { truthUv, responses, recorded, preSampleCount, inWindow } = play(document, 'normalised');
    const effort = recorded.map((sweepUv) => {
      const before = sweepUv.subarray(0, preSampleCount);
      const middle = mean(before);
      return mean(before.map((value) => Math.abs(value - middle)));
    });
    const smooth = effort.map((_, k) => mean(effort.slice(Math.max(0, k - 4), k + 1)));
    const byHand = responses[0].map(
      (_, i) => mean(responses.map((sweepUv, k) => sweepUv[i] / smooth[k])) * mean(smooth),
    );
    expect(difference(truthUv, byHand)).toBeLessThan(1e-10);
    // It is the same shape as the session mean and within a fifth of its size.
    expect(difference(inWindow(truthUv), inWindow(meanOfSweeps(responses)))).toBeLessThan(0.2);
  });

  it('full-effort: larger than the session mean where gaze sags, and equal to it where nothing tires', () => {
    const sagging = { response: { kind: 'ovemp' }, stimulus: { trainS: 0, restS: 0 } };
    const tired = play(sagging, 'full-effort', 1);
    const ratio = rms(tired.inWindow(tired.truthUv)) / rms(tired.inWindow(meanOfSweeps(tired.responses)));
    expect(ratio).toBeGreaterThan(1.2);
    const steady = play({ ...sagging, gaze: { holdS: 600 } }, 'full-effort', 1);
    expect(difference(steady.truthUv, meanOfSweeps(steady.responses))).toBeLessThan(1e-12);
    const click = play({}, 'full-effort');
    expect(difference(click.truthUv, meanOfSweeps(click.responses))).toBeLessThan(1e-12);
  });

  it('refuses normalised without samples before the stimulus', () => {
    const scenario = resolveScenario({ window: { preMs: 0 }, measures: { truth: 'normalised' } });
    expect(() => chosenTruth(scenario, '1', 0)).toThrow(/normalised needs samples before the stimulus, got/);
  });
});

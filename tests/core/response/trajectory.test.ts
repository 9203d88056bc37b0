import { describe, expect, it } from 'vitest';
import { trajectory } from '../../../src/core/response/trajectory.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { peak, QUIET } from './meanTruth.ts';

const ramp = (document: object) =>
  trajectory(resolveScenario({ response: { trajectory: { latencyShiftMs: 1.2, amplitudeFactor: 0.5, ...document } } }));
const sampleAt = (timeS: number) => Math.round((timeS + 0.5) * 16000);

describe('trajectory', () => {
  const moments = [
    // start, end, time s, share done, why
    [10, 30, 0, 0, 'not yet'],
    [10, 30, 10, 0, 'begins'],
    [10, 30, 20, 0.5, 'half way'],
    [10, 30, 30, 1, 'complete'],
    [10, 30, 300, 1, 'stays'],
    [10, 10, 9.99, 0, 'a step'],
    [10, 10, 10, 1, 'a step'],
  ] as const;
  it.each(moments)('from %d to %d s, at %d s: %d', (startS, endS, timeS, done, why) => {
    const { latencyMs, amplitudeFactor } = ramp({ startS, endS })(sampleAt(timeS));
    expect(latencyMs, why).toBeCloseTo(1.2 * done, 9);
    expect(amplitudeFactor, why).toBeCloseTo(1 - 0.5 * done, 9);
  });

  it('is seen in the sweeps: wave V moves by as much', () => {
    const scenario = resolveScenario({
      ...QUIET,
      session: { durationS: 20 },
      response: { latencyJitterMs: 0, amplitudeLogSd: 0, trajectory: { startS: 5, endS: 15, latencyShiftMs: 1.2 } },
    });
    const session = startSession(scenario, '1');
    const timesMs = Float64Array.from({ length: session.samplesPerSweep }, (_, i) => i / 16 - 5);
    const marks: number[] = [];
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
      marks.push(peak(timesMs, sweep.truthUv[0], 1, 5, 8).ms);
    }
    expect(marks[marks.length - 1] - marks[0]).toBeCloseTo(1.2, 2);
    expect(marks[Math.round(10 * 27.7)] - marks[0]).toBeCloseTo(0.6, 1);
  });
});

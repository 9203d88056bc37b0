import { describe, expect, it } from 'vitest';
import { usualWaveV } from '../../../src/core/reading/patternClass.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { racingLanesOf } from '../../../src/core/session/lanes.ts';
import {
  fitOf,
  scenarioAtLevel,
  seriesRun,
  seriesSeed,
  thresholdOf,
  waveLatencies,
} from '../../../src/web/model/series.ts';
import { fullRun } from '../../../src/web/worker/fullRun.ts';

const scenario = resolveScenario({ session: { durationS: 60 } });

function runAt(levelDb: number) {
  const given = scenarioAtLevel(scenario, levelDb);
  const seed = seriesSeed('2', [], levelDb);
  const running = fullRun(given, seed, racingLanesOf(given).slice(0, 1));
  let step = running.next();
  while (!step.done) step = running.next();
  return seriesRun(given, step.value, levelDb, seed, 0);
}

describe('series', () => {
  const runs = [85, 65, 45].map(runAt);

  it('reads wave V later at softer levels, where normal ears of the model have it', () => {
    const latencies = waveLatencies(runs);
    expect(latencies.length).toBeGreaterThanOrEqual(2);
    for (const { levelDbNhl, latencyMs, latencySdMs } of latencies) {
      const { latencyMs: usualMs } = usualWaveV(levelDbNhl, scenario.stimulus.ratePerS);
      expect(Math.abs(latencyMs - usualMs)).toBeLessThan(4 * latencySdMs + 0.1); // the yardstick itself is off by 0.05 ms
    }
    const fit = fitOf(runs);
    expect(fit?.at(65)).toBeGreaterThan(fit?.at(85) ?? NaN);
    expect(fitOf(runs.slice(0, 1))).toBeNull();
  });

  it('says present by the rule where the answer is large, and brackets by what the person says', () => {
    expect(runs[0].ruleVerdict).toBe('present');
    expect(Number.isNaN(thresholdOf(runs).midpointDb)).toBe(true);
    const said = [
      { ...runs[0], ownVerdict: 'present' as const },
      { ...runs[2], ownVerdict: 'absent' as const },
    ];
    expect(thresholdOf(said)).toMatchObject({ lowestPresentDb: 85, highestAbsentDb: 45, midpointDb: 65 });
  });

  it('gives every run its own recording', () => {
    expect(seriesSeed('2', runs, 65)).not.toBe(seriesSeed('2', [], 65));
    expect(() => scenarioAtLevel(scenario, 500)).toThrow('stimulus.levelDbNhl: must be a number');
  });
});

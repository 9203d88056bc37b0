import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneReadings } from '../../../src/core/session/laneReadings.ts';
import { laneOf } from '../../../src/core/session/lanes.ts';
import { race } from '../../../src/core/session/race.ts';

function read(document: Record<string, object>, strategies: string[], seed = '1') {
  const scenario = resolveScenario(document);
  const steps = laneReadings(
    scenario,
    seed,
    strategies.map((id) => laneOf(scenario, id)),
  );
  let step = steps.next();
  for (; !step.done; step = steps.next()) expect(step.value).toBeLessThan(1);
  return step.value;
}

const quiet = { session: { durationS: 80 }, converter: { sampleRateHz: 8000 }, mains: { fundamentalUv: 0 } };

describe('laneReadings', () => {
  const { lanes, truth, rectifiedUv } = read(quiet, ['plain-mean', 'block-weighting', 'sorted-averaging']);

  it('reads every lane, hindsight too, beside the truth of the same run', () => {
    expect(truth.peaks.map(({ name }) => name)).toEqual(['I', 'III', 'V']);
    expect(truth.peaks.every(({ latencySdMs }) => latencySdMs === 0)).toBe(true);
    expect(lanes.map(({ strategy }) => strategy)).toEqual(['plain-mean', 'block-weighting', 'sorted-averaging']);
    for (const { reading, errors, shapeCorrelation } of lanes) {
      expect(shapeCorrelation).toBeGreaterThan(0.9);
      const waveV = reading.peaks.find(({ name }) => name === 'V');
      const error = errors.find(({ name }) => name === 'V');
      const real = truth.peaks.find(({ name }) => name === 'V');
      expect(waveV?.clear).toBe(true);
      expect(error?.latencyErrorMs).toBe((waveV?.latencyMs ?? NaN) - (real?.latencyMs ?? NaN));
      expect(Math.abs(error?.latencyZ ?? NaN)).toBeLessThan(4);
    }
    expect(rectifiedUv).toBeGreaterThan(0.1);
  });

  it('reads the same at the end of a race that is asked to read, and nothing in one that is not', () => {
    const scenario = resolveScenario(quiet);
    const raced = (readings: boolean) => {
      const steps = race(scenario, {
        ...{ seed: '1', replicates: 1, targetNv: 40, readings },
        lanes: [laneOf(scenario, 'plain-mean')],
      });
      let step = steps.next();
      while (!step.done) step = steps.next();
      return step.value.readings;
    };
    expect(raced(true)).toEqual([{ lanes: [lanes[0].reading], truth }]);
    expect(raced(false)).toEqual([]);
  });

  it('gives the same twice, and other figures for another seed', () => {
    const again = read(quiet, ['plain-mean']);
    expect(again.lanes[0].reading).toEqual(lanes[0].reading);
    expect(read(quiet, ['plain-mean'], '2').lanes[0].reading).not.toEqual(lanes[0].reading);
  });

  it('corrects a cervical response for the contraction of the run', () => {
    const cervical = read({ response: { kind: 'cvemp' } }, ['plain-mean']);
    expect(cervical.rectifiedUv).toBeGreaterThan(80); // the target is 120 µV, and the muscle tires
    const [raw, corrected] = cervical.lanes[0].reading.figures;
    expect(corrected.value).toBeCloseTo(raw.value / cervical.rectifiedUv, 12);
  });

  it('reads against the truth that the scenario chooses', () => {
    const moving = {
      ...quiet,
      response: { trajectory: { startS: 0, endS: 80, latencyShiftMs: 0.6 } },
    };
    const latency = (truthOf: object) =>
      read({ ...moving, ...truthOf }, ['plain-mean']).truth.peaks.find(({ name }) => name === 'V')?.latencyMs ?? NaN;
    expect(latency({ measures: { truth: 'current' } }) - latency({})).toBeGreaterThan(0.2);
  });
});

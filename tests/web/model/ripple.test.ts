import { describe, expect, it } from 'vitest';
import { preset } from '../../../src/core/scenario/presets.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { rippleAt } from '../../../src/web/model/ripple.ts';
import { RunRecord } from '../../../src/web/model/runRecord.ts';
import { sweepBatcher } from '../../../src/web/worker/sweepBatcher.ts';
import { sweepMix } from '../../../src/web/worker/sweepMix.ts';

const scenario = resolveScenario({
  ...preset('jaw-clencher'),
  session: { durationS: 12 },
  muscle: { burstsPerS: 0.5 },
});

function recordOf(): RunRecord {
  const record = new RunRecord(scenario);
  const batcher = sweepBatcher(1, scenario, '4');
  while (batcher.addSweep());
  record.add(batcher.take());
  return record;
}

describe('rippleAt', () => {
  const record = recordOf();
  it.each([0, 1, 2, 3])('lane %d: the parts of all sweeps add up to the average', (lane) => {
    const all = rippleAt(record, lane, 5.5, 1e9);
    // The samples are kept as single precision: each part is right to 6e-8 of itself.
    expect(Math.abs((all?.togetherUv ?? NaN) - (all?.valueUv ?? NaN))).toBeLessThan(1e-4);
    const ten = rippleAt(record, lane, 5.5);
    expect(ten?.parts).toHaveLength(10);
    const sign = Math.sign(ten?.valueUv ?? NaN);
    for (const { partUv } of ten?.parts ?? []) expect(sign * partUv).toBeGreaterThan(0);
    expect(ten?.parts[0].partUv).toBe(all?.parts[0].partUv);
  });

  it('has nothing to say outside the window', () => {
    expect(rippleAt(record, 0, 99)).toBeNull();
  });
});

describe('sweepMix', () => {
  it('names the burst where there is one, and its parts add up to the sweep', () => {
    const record = recordOf();
    let loudest = 0;
    for (let k = 0; k < record.offeredCount; k++) if (record.peakUv[k] > record.peakUv[loudest]) loudest = k;
    const running = sweepMix(scenario, '4', loudest);
    let step = running.next();
    while (!step.done) step = running.next();
    const parts = step.value;
    expect(parts[0].id).toBe('muscle');
    expect(parts.map(({ id }) => id).sort()).toEqual([
      'amplifier',
      'drift',
      'eeg',
      'mains',
      'muscle',
      'remainder',
      'response',
    ]);
    const samples = record.rawSweep(loudest, 0) ?? new Float32Array();
    for (let i = 0; i < samples.length; i++) {
      const sum = parts.reduce((total, { samplesUv }) => total + samplesUv[i], 0);
      expect(Math.abs(sum - samples[i])).toBeLessThan(1e-3); // single precision of up to 1000 µV
    }
  });
});

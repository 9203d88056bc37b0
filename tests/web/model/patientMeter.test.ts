import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { patientMeter } from '../../../src/web/model/patientMeter.ts';
import { RunRecord } from '../../../src/web/model/runRecord.ts';
import { sweepBatcher } from '../../../src/web/worker/sweepBatcher.ts';

function meterAfter(document: object, sweeps = Number.POSITIVE_INFINITY) {
  const scenario = resolveScenario(document);
  const record = new RunRecord(scenario);
  const batcher = sweepBatcher(1, scenario, '4');
  for (let k = 0; k < sweeps && batcher.addSweep(); k++);
  record.add(batcher.take());
  return patientMeter(record);
}

describe('patientMeter', () => {
  it('shows the contraction of a neck, which falls when the head is laid down', () => {
    const held = meterAfter({ response: { kind: 'cvemp' } }, 40);
    expect(held?.name).toBe('effort');
    expect(held?.share).toBeGreaterThan(0.4); // the goal is at 0.67; five sweeps scatter by a fifth
    const down = meterAfter({ response: { kind: 'cvemp' }, events: [{ atS: 3, action: 'lower-the-head' }] }, 60);
    expect(down?.share).toBeLessThan(0.15);
  });

  it('shows a gaze that sags when it is held for too long', () => {
    const early = meterAfter({ response: { kind: 'ovemp' }, stimulus: { trainS: 0, restS: 0 } }, 20);
    expect(early?.text).toBe('35°');
    const late = meterAfter({
      response: { kind: 'ovemp' },
      session: { durationS: 170 },
      stimulus: { trainS: 0, restS: 0 },
    });
    expect(Number(late?.text.replace('°', ''))).toBeLessThan(15);
  });

  it('is nothing for a response that asks for no effort', () => {
    expect(meterAfter({}, 3)).toBeNull();
  });
});

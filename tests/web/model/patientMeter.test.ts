import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { type PatientMeter, patientMeters } from '../../../src/web/model/patientMeter.ts';
import { RunRecord } from '../../../src/web/model/runRecord.ts';
import { sweepBatcher } from '../../../src/web/worker/sweepBatcher.ts';

function metersAfter(document: object, sweeps = Number.POSITIVE_INFINITY): Record<string, PatientMeter> {
  const scenario = resolveScenario(document);
  const record = new RunRecord(scenario);
  const batcher = sweepBatcher(1, scenario, '4');
  for (let k = 0; k < sweeps && batcher.addSweep(); k++);
  record.add(batcher.take());
  return Object.fromEntries(patientMeters(record).map((meter) => [meter.name, meter]));
}

describe('patientMeter', () => {
  it('shows the contraction of a neck, which falls when the head is laid down', () => {
    const { effort: held } = metersAfter({ response: { kind: 'cvemp' } }, 40);
    expect(held?.share).toBeGreaterThan(0.4); // the goal is at 0.67; five sweeps scatter by a fifth
    const { effort: down } = metersAfter(
      { response: { kind: 'cvemp' }, events: [{ atS: 3, action: 'lower-the-head' }] },
      60,
    );
    expect(down?.share).toBeLessThan(0.15);
  });

  it('shows a gaze that sags when it is held for too long', () => {
    const { gaze: early } = metersAfter({ response: { kind: 'ovemp' }, stimulus: { trainS: 0, restS: 0 } }, 20);
    expect(early?.text).toBe('35°');
    const { gaze: late } = metersAfter({
      response: { kind: 'ovemp' },
      session: { durationS: 170 },
      stimulus: { trainS: 0, restS: 0 },
    });
    expect(Number(late?.text.replace('°', ''))).toBeLessThan(15);
  });

  it('tells how much of a fresh neck is left: a fifth less a minute, back again with the head down', () => {
    const held = { response: { kind: 'cvemp' }, stimulus: { trainS: 0, restS: 0 }, session: { durationS: 65 } };
    const { stamina: tired } = metersAfter(held);
    expect(tired.share).toBeCloseTo(Math.exp(-0.2 * (65 / 60)), 2); // e^(−fatigue per minute · minutes)
    const { stamina: rested } = metersAfter({ ...held, events: [{ atS: 35, action: 'lower-the-head' }] });
    expect(rested.share).toBeGreaterThan(tired.share + 0.1);
  });

  it('shows a child that stirs, whose patience wears off and comes back with food', () => {
    const bored = { child: { present: true, boredomPerMin: 1, quiet: { dwellS: 4 } }, session: { durationS: 60 } };
    const { still, patience } = metersAfter(bored);
    expect(still.share).toBeGreaterThan(0.05);
    expect(still.share).toBeLessThan(0.98); // of the last 20 s; a spell of quiet lasts 4 s and less
    expect([still.ofModel, patience.ofModel]).toEqual([false, true]); // a lesson with a riddle shows the first alone
    expect(patience.text).toBe('≈ 2.4 s'); // 4/(0.7·2 + 0.3)
    const fed = metersAfter({ ...bored, events: [{ atS: 20, action: 'feed-the-child' }] });
    expect(fed.patience.share).toBeGreaterThan(patience.share);
  });

  it('is nothing for a response that asks for no effort', () => {
    expect(metersAfter({}, 3)).toEqual({});
  });
});

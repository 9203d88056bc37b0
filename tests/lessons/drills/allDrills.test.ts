import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneOf } from '../../../src/core/session/lanes.ts';
import { noiseLedger } from '../../../src/core/session/ledger.ts';
import { drillKey } from '../../../src/lessons/drills/drillKey.ts';
import { drillDocument, drillMeter, drillSeed } from '../../../src/lessons/drills/drillRun.ts';
import { drillSource } from '../../../src/lessons/drills/drillSources.ts';
import { drill, drillIds, finished } from './drillFiles.ts';

/** What the debrief of each drill says: the source, and the least that mends it. */
const claims: Record<string, [source: string, least: string]> = {
  'a-hurried-one': ['dry-contact', 're-prep-an-electrode'],
  'a-peak-at-nought': ['artefact', 'alternate-the-polarity'],
  'a-worried-one': ['brow', 'smooth-the-brow'],
  'after-the-slow-one': ['filter-corner', 'usual-filters'],
  'at-the-wall': ['body-current', 'move-the-cables-away'],
  'beside-the-pump': ['switching', 'move-the-cables-away'],
  'cable-along-the-couch': ['lead-current', 'move-the-preamp-to-the-head'],
  'careful-colleague': ['rejection-limit', 'reject-less'],
  'dry-mouth': ['swallow', 'offer-a-sip'],
  'earphone-on-the-leads': ['artefact', 'move-the-transducer-away'],
  'end-of-the-film': ['restless-child', 'reject-more'],
  'evening-light': ['lamps', 'switch-the-lamps-off'],
  'first-of-the-morning': ['neck', 'lower-the-head'],
  'fresh-gel': ['drift', 'let-the-gel-soak-in'],
  'gain-of-the-other-room': ['range-too-small', 'widen-the-range'],
  'look-over-there': ['reflex', 'look-ahead'],
  'looking-at-the-window': ['gaze', 'look-up'],
  'new-plugs': ['reversed-leads', 'plug-the-leads-right'],
  'no-tape-left': ['dead-electrode', 're-prep-an-electrode'],
  'one-polarity': ['microphonic', 'alternate-the-polarity'],
  'plugged-in': ['isolation', 'switch-to-battery'],
  'power-supply-on-the-shelf': ['field', 'bunch-the-leads + move-the-cables-away'],
  'quiet-morning': ['no-sound', 'check-the-tube'],
  'range-for-everybody': ['coarse-converter', 'narrow-the-range'],
  'student-helps': ['exchanged-leads', 'plug-the-leads-right'],
  'swinging-leads': ['lead-movement', 'tape-the-leads-down'],
  'tape-of-yesterday': ['loose-contact', 're-prep-an-electrode'],
  'tense-appointment': ['clench', 'relax-the-jaw'],
  'the-last-one': ['blinks', 'reject-more'],
  'the-strong-pulse': ['heart', 'reject-more'],
  'thin-gown': ['shiver', 'give-a-blanket'],
  'twenty-five-a-second': ['rate', 'take-another-rate'],
  'under-the-roof': ['sweat', 'cool-the-room'],
  'with-the-dummy': ['sucking', 'take-the-dummy-out'],
};

describe('the drills of the lab', () => {
  it('are thirty or more, each with a place of its own and a claim here', () => {
    expect(drillIds.length).toBeGreaterThanOrEqual(30);
    expect(Object.keys(claims).sort()).toEqual(drillIds);
    expect(drillIds.map((id) => drill(id).place).sort((a, b) => a - b)).toEqual(drillIds.map((_, k) => k + 1));
    for (const id of drillIds) expect(drill(id, 60).lineHz).toBe(60);
  });

  it.each(drillIds)('%s: visible, from the source it says, mended by the least it says', (id) => {
    const meter = drillMeter(drill(id));
    const key = finished(drillKey(drill(id), meter));
    const { rightNv, troubledNv, goalNv, sources, least } = key;
    expect(troubledNv).toBeGreaterThan(1.2 * goalNv);
    expect([key.source, least?.ids.join(' + ')]).toEqual(claims[id]);
    // The source put right alone mends it, and no other on offer does.
    for (const { id: source, errorNv } of sources) {
      if (source === key.source) expect(errorNv).toBeLessThan(1.1 * rightNv);
      else expect(errorNv).toBeGreaterThan(goalNv);
    }
    // The other way round: the trouble stays, and the noise through which it is said to come in is muted.
    const { noise } = drillSource(key.source);
    if (noise === null) return;
    const troubled = drillDocument(drill(id), true) as { session?: object };
    const muted = { ...troubled, session: { ...troubled.session, mute: [noise] } };
    expect(meter.errorNv(muted, 0)).toBeLessThan(goalNv);
  });

  it.each([
    ['first-of-the-morning', 'neck'],
    ['plugged-in', 'pickup'],
    ['fresh-gel', 'drift'],
  ])('%s: the ledger of the plain mean puts %s first', (id, row) => {
    const scenario = resolveScenario(drillDocument(drill(id), true));
    const [ledger] = finished(noiseLedger(scenario, drillSeed(drill(id), 0), [laneOf(scenario, 'plain-mean')]));
    const largest = ledger.rows.reduce((a, b) => (b.rmsNv > a.rmsNv ? b : a));
    expect(largest.id).toBe(row);
    expect(largest.rmsNv).toBeGreaterThan(0.8 * ledger.totalNv);
  });
});

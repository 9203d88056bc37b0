import { describe, expect, it } from 'vitest';
import { preset, presets } from '../../../src/core/scenario/presets.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import type { Scenario } from '../../../src/core/scenario/schema.ts';
import { lanesOf } from '../../../src/core/session/lanes.ts';
import { type NoiseLedger, noiseLedger } from '../../../src/core/session/ledger.ts';
import { type RaceResult, race } from '../../../src/core/session/race.ts';
import { averagingContext, startSession } from '../../../src/core/session/session.ts';
import { mean, rms } from '../sampleStatistics.ts';

/** A preset for so many seconds, with other keys on top. */
function patient(id: string, durationS: number, changes: Record<string, object> = {}): Scenario {
  const document: Record<string, object> = { ...preset(id) };
  for (const [key, keys] of Object.entries({ session: { durationS }, ...changes })) {
    document[key] = { ...document[key], ...keys };
  }
  return resolveScenario(document);
}

function finished<T>(steps: Generator<unknown, T>): T {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

function sweepsOf(scenario: Scenario) {
  const session = startSession(scenario, '5');
  const sweeps = [];
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    const { recordedUv, truthUv, overRange, polarity } = sweep;
    sweeps.push({
      polarity,
      overRange: overRange[0],
      recordedUv: recordedUv.map((channel) => channel.slice()),
      truthUv: truthUv.map((channel) => channel.slice()),
    });
  }
  return sweeps;
}

const meanOf = (list: readonly Float64Array[]) => list[0].map((_, i) => mean(list.map((values) => values[i])));

describe('every preset', () => {
  it.each(presets.map(({ id }) => id))('races for a few seconds, and every figure is a number: %s', (id) => {
    const { stimulus, response } = resolveScenario(preset(id));
    const scenario = patient(id, Math.max(4, 10 / stimulus.ratePerS));
    const { lanes }: RaceResult = finished(race(scenario, { seed: '1', replicates: 1, targetNv: 40 }));
    for (const lane of lanes) {
      expect(lane.sweepsOffered).toBeGreaterThanOrEqual(10);
      if (lane.sweepsUsed === 0) continue; // a strategy that took nothing yet has nothing to show
      expect(lane.residualNoiseNv).toBeGreaterThan(0);
      expect(lane.residualNoiseNv).toBeLessThan(1e6);
      expect(Number.isFinite(lane.amplitudeGain.value)).toBe(response.kind !== 'none');
    }
  });
});

const dominant = [
  // preset, what the plain mean suffers from most, seconds
  ['quiet-sleeper', 'eeg', 20],
  ['restless-child', 'child', 30],
  ['jaw-clencher', 'muscle', 30],
  ['locked-line', 'mains', 20],
  ['drifting-electrode', 'drift', 30],
  ['graded-muscle', 'child', 30],
  ['silent-ear', 'eeg', 20],
  ['faint-click', 'eeg', 20],
  ['calm-child', 'child', 60],
  ['fidgety-child', 'child', 30],
  ['sleeping-baby', 'child', 60],
  ['intensive-care', 'pickup', 20],
  ['hot-room', 'skin', 30],
  ['tired-neck', 'firing', 20],
  ['dry-canal-electrode', 'pickup', 20],
  ['tone-threshold', 'eeg', 20],
  ['fluctuating-ear', 'eeg', 20],
  ['held-neck', 'firing', 20],
  ['eyes-up', 'eye-muscle', 30],
  ['middle-latency', 'eeg', 30],
  ['slow-cortex', 'eeg', 60],
  ['steady-tone', 'eeg', 30],
  ['muscle-behind-the-ear', 'reflex', 20],
  ['crackling-lead', 'artefact', 20],
  ['hurried-preparation', 'pickup', 20],
] as const;

describe('the ledger blames what the story tells', () => {
  it.each(dominant)('%s: %s', (id, source, seconds) => {
    const scenario = patient(id, seconds);
    const [ledger]: NoiseLedger[] = finished(noiseLedger(scenario, '5', lanesOf(scenario).slice(0, 1)));
    const largest = ledger.rows.reduce((a, b) => (b.rmsNv > a.rmsNv ? b : a));
    expect(largest.id).toBe(source);
    expect(largest.rmsNv).toBeGreaterThan(0.6 * ledger.totalNv);
  });
});

describe('what a story tells beyond the ledger', () => {
  it('office-adult: a bit of everything, each smaller than the EEG in a usual sweep', () => {
    const median = (mute: string[]) => {
      const sizes = sweepsOf(patient('office-adult', 10, { session: { durationS: 10, mute } })).map(({ recordedUv }) =>
        rms(recordedUv[0]),
      );
      return sizes.sort((a, b) => a - b)[sizes.length >> 1];
    };
    const all = median([]);
    for (const source of ['neck', 'pickup', 'swallow', 'blink']) expect(median([source])).toBeGreaterThan(0.6 * all);
    expect(median(['eeg'])).toBeLessThan(0.8 * all);
  });

  it('overloaded-amplifier: a share of the sweeps is pinned, and those look quiet', () => {
    const sweeps = sweepsOf(patient('overloaded-amplifier', 120));
    const flagged = sweeps.filter(({ overRange }) => overRange);
    expect(flagged.length / sweeps.length).toBeGreaterThan(0.03);
    const sizes = (list: typeof sweeps) => list.map(({ recordedUv }) => rms(recordedUv[0]));
    const usual = mean(sizes(sweeps.filter(({ overRange }) => !overRange)));
    expect(sizes(flagged).some((size) => size < 0.1 * usual)).toBe(true);
  });

  it('old-surgery-room: the hum is most of every sweep, and the rate keeps it out of the average', () => {
    const size = (mute: string[]) =>
      rms(meanSquares(sweepsOf(patient('old-surgery-room', 20, { session: { durationS: 20, mute } }))));
    expect(size([])).toBeGreaterThan(2 * size(['pickup']));
    const scenario = patient('old-surgery-room', 60);
    const [ledger] = finished(noiseLedger(scenario, '5', lanesOf(scenario).slice(0, 1)));
    const row = (id: string) => ledger.rows.find((entry) => entry.id === id)?.rmsNv ?? Number.NaN;
    expect(row('pickup')).toBeLessThan(row('eeg'));
  });

  it('theatre: wave V moves by 1.2 ms, and the knife drives sweeps over the range', () => {
    const sweeps = sweepsOf(patient('theatre', 300));
    const peakMs = (truth: Float64Array) => (1000 * truth.indexOf(Math.max(...truth))) / 16000 - 5;
    const early = peakMs(meanOf(sweeps.slice(0, 200).map(({ truthUv }) => truthUv[0])));
    const late = peakMs(meanOf(sweeps.slice(-200).map(({ truthUv }) => truthUv[0])));
    expect(Math.abs(late - early - 1.2)).toBeLessThan(0.1);
    const flagged = sweeps.filter(({ overRange }) => overRange).length / sweeps.length;
    expect(flagged).toBeGreaterThan(0.01);
    expect(flagged).toBeLessThan(0.2);
  });

  it('tired-neck: within a minute the answer falls with the muscle', () => {
    const sweeps = sweepsOf(patient('tired-neck', 60));
    const height = (list: typeof sweeps) => {
      const truth = meanOf(list.map(({ truthUv }) => truthUv[0]));
      return Math.max(...truth) - Math.min(...truth);
    };
    expect(height(sweeps.slice(-60)) / height(sweeps.slice(0, 60))).toBeLessThan(0.85);
  });

  it('fluctuating-ear: the summating potential is over half of the action potential; sound ears have a quarter', () => {
    expect(patient('fluctuating-ear', 60).ecochg.summatingRatio).toBeGreaterThan(0.5);
    const shoulderToPeak = (changes: Record<string, object>) => {
      const truth = meanOf(sweepsOf(patient('fluctuating-ear', 20, changes)).map(({ truthUv }) => truthUv[0]));
      const at = (ms: number) => truth[Math.round((2 + ms) * 32)];
      return (at(1.05) - at(0.3)) / (Math.min(...truth) - at(0.3));
    };
    expect(shoulderToPeak({})).toBeGreaterThan(1.4 * shoulderToPeak({ ecochg: { summatingRatio: 0.25 } }));
  });

  it('far-ear-answers: the masked far ear is silent, so the wave was its own', () => {
    const height = (stimulus: object) =>
      Math.max(...sweepsOf(patient('far-ear-answers', 2, { stimulus }))[5].truthUv[0].map(Math.abs));
    expect(height({})).toBeGreaterThan(0.1);
    expect(height({ maskingDb: 60 })).toBeLessThan(0.01);
  });

  it('out-of-step: but for the summating potential, what is left turns over with the polarity', () => {
    const sweeps = sweepsOf(patient('out-of-step', 30, { ecochg: { summatingRatio: 0 } }));
    const of = (sign: number) =>
      meanOf(sweeps.filter(({ polarity }) => polarity === sign).map(({ truthUv }) => truthUv[0]));
    const half = (a: Float64Array, b: Float64Array, sign: number) =>
      rms(a.map((value, i) => (value + sign * b[i]) / 2));
    const [up, down] = [of(1), of(-1)];
    expect(half(up, down, -1)).toBeGreaterThan(2 * half(up, down, 1));
  });

  it('exchanged-leads: wave I is larger in the other channel', () => {
    const waveI = (id: string, changes: Record<string, object> = {}) => {
      const scenario = patient(id, 20, changes);
      const { preSampleCount } = averagingContext(scenario);
      const truths = sweepsOf(scenario).map(({ truthUv }) => truthUv);
      return [0, 1].map((c) => {
        const truth = meanOf(truths.map((channels) => channels[c]));
        return Math.max(...truth.subarray(preSampleCount + 20, preSampleCount + 36));
      });
    };
    const [ipsilateral, contralateral] = waveI('exchanged-leads');
    expect(contralateral).toBeGreaterThan(1.5 * ipsilateral);
    expect(waveI('exchanged-leads', { leads: { swapped: 'none' } })).toEqual([contralateral, ipsilateral]);
  });
});

/** Mean square over sweeps of each sample, as a root. */
function meanSquares(sweeps: { recordedUv: Float64Array[] }[]): Float64Array {
  return meanOf(sweeps.map(({ recordedUv }) => recordedUv[0].map((value) => value * value))).map(Math.sqrt);
}

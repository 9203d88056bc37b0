import { describe, expect, it } from 'vitest';
import { finalShares } from '../../../src/core/averaging/finalShares.ts';
import { noiseSources } from '../../../src/core/noise/index.ts';
import { noiseIds } from '../../../src/core/scenario/noiseIds.ts';
import { preset } from '../../../src/core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../../../src/core/scenario/resolve.ts';
import { type LaneSetting, lanesOf, openLane } from '../../../src/core/session/lanes.ts';
import { type NoiseLedger, noiseLedger } from '../../../src/core/session/ledger.ts';
import { averagingContext, startSession } from '../../../src/core/session/session.ts';
import { everything, joined } from '../noise/everything.ts';

function ledgers(document: object, settings?: LaneSetting[]): NoiseLedger[] {
  const scenario = resolveScenario(document);
  const steps = noiseLedger(scenario, '5', settings ?? lanesOf(scenario));
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

const busy = {
  session: { durationS: 20 },
  muscle: { burstsPerS: 0.5 },
  mains: { fundamentalUv: 3 },
  drift: { walkUvPerRtS: 20, stepsPerS: 0.3 },
  amplifier: { rangeUv: 100000 },
  converter: { bits: 24, sampleRateHz: 8000 },
};
const row = (ledger: NoiseLedger, id: string) => ledger.rows.find((entry) => entry.id === id)?.rmsNv ?? Number.NaN;

describe('noiseLedger', () => {
  it.each(ledgers(busy))('is exact for $strategy, and its rows and cross terms add up to the error', (ledger) => {
    expect(ledger.exact).toBe(true);
    const power = ledger.productsNv2.flat().reduce((sum, value) => sum + value, 0);
    expect(Math.sqrt(power) / ledger.totalNv).toBeCloseTo(1, 9);
    // Nothing clips, so all that remains is the rounding of the converter: far below one step.
    expect(row(ledger, 'remainder')).toBeLessThan((1000 * 100000) / 2 ** 23);
  });

  it('is exact for a tracker that forgets', () => {
    const parameters = { processNoiseUv2: 1e-3, noiseMemory: 0.3, noiseFloorUv2: 0.01, knownNoiseUv2: 0 };
    const [ledger] = ledgers(busy, [{ strategy: 'kalman', parameters }]);
    expect(ledger.exact).toBe(true);
  });

  it('blames the muscle in a clencher, and the mains where the rate locks', () => {
    const short = (id: string) => withOverrides(preset(id), ['session.durationS=40']);
    const [clencher] = ledgers(short('jaw-clencher'));
    expect(row(clencher, 'muscle')).toBeGreaterThan(0.8 * clencher.totalNv);
    const [locked] = ledgers(short('locked-line'));
    expect(row(locked, 'mains')).toBeGreaterThan(0.9 * locked.totalNv);
  });

  it('tells of a source that comes with an event', () => {
    const events = [{ atS: 5, action: 'bring-a-pump-near' }];
    const electrodes = { ipsilateral: { contactFactor: 3 } };
    const [ledger] = ledgers({ ...busy, electrodes, events }, [{ strategy: 'plain-mean', parameters: {} }]);
    expect(row(ledger, 'pickup')).toBeGreaterThan(5);
    expect(row(ledger, 'remainder')).toBeLessThan((1000 * 100000) / 2 ** 23);
  });

  it('says what leaving each source out changes, where a strategy is no weighted sum: the median', () => {
    const parameters = { groupCount: 16 };
    const [ledger] = ledgers(busy, [{ strategy: 'median-average', parameters }]);
    expect(ledger.exact).toBe(false);
    const power = ledger.productsNv2.flat().reduce((sum, value) => sum + value, 0);
    expect(Math.sqrt(power) / ledger.totalNv).toBeCloseTo(1, 9);
    // By hand: the same patient without muscle.
    const averageOf = (mute: string[]) => {
      const scenario = resolveScenario({ ...busy, session: { ...busy.session, mute } });
      const context = averagingContext(scenario);
      const { averager } = openLane({ strategy: 'median-average', parameters }, context);
      const session = startSession(scenario, '5');
      for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
        const { index, timeS, polarity, overRange } = sweep;
        averager.add(sweep.recordedUv[0], { index, timeS, polarity, overRange: overRange[0] });
      }
      const estimateUv = new Float64Array(context.samplesPerSweep);
      averager.read(estimateUv);
      return estimateUv.slice(context.analysisFrom, context.analysisTo);
    };
    const without = averageOf(['muscle']);
    const byHand = averageOf([]).map((value, i) => value - without[i]);
    expect(ledger.rows.find(({ id }) => id === 'muscle')?.errorUv).toEqual(byHand);
    expect(row(ledger, 'muscle')).toBeGreaterThan(10);
  });

  it('has no average to take apart in a lane that used no sweep, and calls nothing approximate', () => {
    const parameters = {
      ...lanesOf(resolveScenario({})).find(({ strategy }) => strategy === 'threshold-rejection')?.parameters,
    };
    const [ledger] = ledgers(busy, [
      { strategy: 'threshold-rejection', parameters: { ...parameters, thresholdUv: 0.1 } },
    ]);
    expect(ledger.exact).toBe(true);
    expect(ledger.totalNv).toBeNaN();
    for (const { rmsNv } of ledger.rows) expect(rmsNv).toBeNaN();
  });

  it('puts clipping into the remainder', () => {
    const clipped = { ...busy, amplifier: { rangeUv: 15 }, averaging: { respectFlags: false } };
    const [ledger] = ledgers(clipped);
    expect(row(ledger, 'remainder')).toBeGreaterThan(20);
  });
});

describe('session.mute', () => {
  it('knows every noise source by its id', () => {
    expect(noiseSources.map(({ id }) => id)).toEqual(noiseIds);
  });

  const wide = { amplifier: { rangeUv: 100000 }, converter: { bits: 24, sampleRateHz: 8000 } };
  const everyRun = (mute: readonly string[]) => {
    const document = joined(everything, wide, { session: { durationS: 3, mute } });
    const session = startSession(resolveScenario(document), '9');
    const sweeps: number[] = [];
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) sweeps.push(...sweep.recordedUv[0]);
    return sweeps;
  };
  const largest = (values: number[]) => values.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const whole = everyRun([]);
  const none = everyRun(noiseIds);

  it.each(noiseIds)('takes %s out and leaves every other source as it was', (id) => {
    const without = everyRun([id]);
    const alone = everyRun(noiseIds.filter((other) => other !== id)).map((value, i) => value - none[i]);
    // What is gone is the source as it is alone, so no other one has drawn anew: each would differ by its own size. The
    // converter rounds all four runs by up to half a step each, and the filter passes a step on enlarged at most a little.
    const stepUv = (2 * 100000) / 2 ** 24;
    expect(largest(whole.map((value, i) => value - without[i] - alone[i]))).toBeLessThan(2.5 * stepUv);
    expect(largest(alone), 'it is there').toBeGreaterThan(0);
  });

  it('takes the firing of a muscle out of its own response, and leaves truth and the rest to the bit', () => {
    const run = (mute: readonly string[]) => {
      const session = startSession(
        resolveScenario({ response: { kind: 'cvemp' }, session: { durationS: 3, mute } }),
        '9',
      );
      const recordedUv: number[] = [];
      const truthUv: number[] = [];
      for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
        recordedUv.push(...sweep.recordedUv[0]);
        truthUv.push(...sweep.truthUv[0]);
      }
      return { recordedUv, truthUv };
    };
    const whole = run([]);
    const without = run(['firing']);
    expect(without.truthUv).toEqual(whole.truthUv);
    const rms = ({ recordedUv, truthUv }: typeof whole) =>
      Math.sqrt(recordedUv.reduce((sum, value, i) => sum + (value - truthUv[i]) ** 2, 0) / truthUv.length);
    expect(rms(whole)).toBeGreaterThan(50);
    expect(rms(without)).toBeLessThan(0.2 * rms(whole));
    const silent = run([...noiseIds, 'firing']);
    expect(rms(silent), 'one step of the converter is 0.03 µV').toBeLessThan(0.05);
  });

  it('a muted firing has no row in the ledger', () => {
    const [ledger] = ledgers({ response: { kind: 'cvemp' }, session: { durationS: 3, mute: ['firing'] } });
    expect(ledger.rows.map(({ id }) => id)).not.toContain('firing');
  });

  it('refuses a source that does not exist', () => {
    expect(() => resolveScenario({ session: { mute: ['ghost'] } })).toThrow(
      'session.mute.0: must be eeg or muscle or ',
    );
  });
});

describe('finalShares', () => {
  const one = { index: 1, weight: 2, fade: 1 };
  const halving = [
    { index: 0, weight: 1, fade: 1 },
    { index: 1, weight: 1, fade: 0.5 },
  ];
  const cases: [Parameters<typeof finalShares>[0], number, number[], string][] = [
    [[], 2, [0, 0], 'nothing decided'],
    [[one], 3, [0, 1, 0], 'one sweep counts'],
    [halving, 2, [1 / 3, 2 / 3], 'the second halves the first'],
  ];
  it.each(cases)('of %j over %i sweeps are %j: %s', (decisions, count, expected, _why) => {
    const shares = finalShares(decisions, count);
    for (const [k, share] of expected.entries()) expect(shares[k]).toBeCloseTo(share, 15);
  });
});

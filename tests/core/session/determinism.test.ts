import { describe, expect, it } from 'vitest';
import { presets } from '../../../src/core/scenario/presets.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { EVERYTHING, sessionDigest } from './digest.ts';

/** Six seconds, or as long as it takes for ten sweeps. */
const short = (document: object) => {
  const { ratePerS } = resolveScenario(document).stimulus;
  return { ...document, session: { durationS: Math.max(6, 10 / ratePerS) } };
};

describe('startSession', () => {
  it.each([1, 37, 1024, 4096])('gives the same bits in blocks of %i samples', (blockSampleCount) => {
    expect(sessionDigest(EVERYTHING, '7', blockSampleCount)).toBe(sessionDigest(EVERYTHING, '7', 997));
  });

  it.each(presets.map(({ id }) => id))('gives the same bits twice, and others for another seed: %s', (id) => {
    const document = short(presets.find((entry) => entry.id === id) as object);
    const digest = sessionDigest(document, '1');
    expect(sessionDigest(document, '1', 4096)).toBe(digest);
    expect(sessionDigest(document, '2')).not.toBe(digest);
  });

  it('refuses a block that is not a whole number of samples', () => {
    const scenario = resolveScenario({});
    for (const bad of [0, -1, 1.5, Number.NaN]) {
      expect(() => startSession(scenario, '1', bad)).toThrow(
        `blockSampleCount must be a whole number >= 1, got ${bad}`,
      );
    }
  });

  it('ends after the promised number of sweeps, each complete at its time', () => {
    const scenario = resolveScenario({ session: { durationS: 5 }, stimulus: { ratePerS: 20 } });
    const session = startSession(scenario, '3');
    const timesS: number[] = [];
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) timesS.push(sweep.timeS);
    expect(timesS).toHaveLength(100);
    // First stimulus at 0 s of stimulation time, complete 15 ms later; 50 ms apart at 20/s, whole samples.
    for (const [k, timeS] of timesS.entries()) expect(Math.abs(timeS - (k / 20 + 0.015))).toBeLessThan(1 / 16000);
    expect(session.nextSweep()).toBeNull();
  });
});

/** Recorded sweeps of one run, ipsilateral, through a chain wide and coarse-free enough to be linear. */
function recorded(overrides: object): Float64Array[] {
  const scenario = resolveScenario({
    session: { durationS: 4 },
    amplifier: { rangeUv: 100000, noiseNvPerRtHz: 0 },
    converter: { bits: 24 },
    eeg: { slowUv: 0, floorNvPerRtHz: 0 },
    mains: { fundamentalUv: 0 },
    drift: { walkUvPerRtS: 0 },
    response: { kind: 'none' },
    ...overrides,
  });
  const session = startSession(scenario, '11');
  const sweeps: Float64Array[] = [];
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) sweeps.push(sweep.recordedUv[0].slice());
  return sweeps;
}

const alone: Record<string, object> = {
  response: { response: { kind: 'click-abr' } },
  eeg: { eeg: {} },
  muscle: { muscle: { burstsPerS: 1 } },
  child: { child: { present: true } },
  mains: { mains: { fundamentalUv: 5 } },
  drift: { drift: { walkUvPerRtS: 30, stepsPerS: 1 } },
  rig: { room: { fieldUt: 0.2, switchingsPerS: 2 }, electrodes: { thermalNoise: true } },
  amplifier: { amplifier: { rangeUv: 100000 } },
};

describe('superposition', () => {
  it('records the sum of what each source records alone, within the rounding of the converter', () => {
    const together = recorded(Object.assign({}, ...Object.values(alone)));
    const parts = Object.values(alone).map(recorded);
    const lsbUv = 100000 / 2 ** 23;
    let worstUv = 0;
    for (const [k, sweepUv] of together.entries()) {
      for (let i = 0; i < sweepUv.length; i++) {
        const sumUv = parts.reduce((sum, sweeps) => sum + sweeps[k][i], 0);
        worstUv = Math.max(worstUv, Math.abs(sweepUv[i] - sumUv));
      }
    }
    // Nine roundings of at most half a step each, spread by the filters: every filter here has gain below 2.
    expect(worstUv).toBeLessThan(9 * lsbUv);
    for (const [name, sweeps] of Object.entries(alone).map(([name], k) => [name, parts[k]] as const)) {
      expect(
        sweeps.some((sweepUv) => sweepUv.some((value) => Math.abs(value) > 10 * lsbUv)),
        name,
      ).toBe(true);
    }
  });
});

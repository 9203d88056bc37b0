import { describe, expect, it } from 'vitest';
import { nextGaussian, stream } from '../../../src/core/random/stream.ts';
import { type ImplantResult, implantRun, implantScenario } from '../../../src/core/session/implant.ts';
import { lanesOf } from '../../../src/core/session/lanes.ts';

/** A recording of white noise, µV rms. */
function whiteUv(sampleRateHz: number, seconds: number, sizeUv: number, seed = 'implant test') {
  const draws = stream(seed, 'white');
  const samplesUv = Float64Array.from({ length: sampleRateHz * seconds }, () => sizeUv * nextGaussian(draws));
  return { samplesUv, sampleRateHz };
}

function run(recordings: Parameters<typeof implantRun>[0], order: Partial<Parameters<typeof implantScenario>[1]>) {
  const scenario = implantScenario(recordings, { kind: 'click-abr', sizeUv: null, document: {}, ...order });
  const steps = implantRun(recordings, scenario, '1', lanesOf(scenario));
  let step = steps.next();
  let last = 0;
  while (!step.done) {
    expect(step.value).toBeGreaterThan(last);
    last = step.value;
    step = steps.next();
  }
  return step.value as ImplantResult;
}

describe('implantRun', () => {
  it('gives the truth itself in a silent recording', () => {
    const { lanes, truthPeakUv, truthUv } = run([{ samplesUv: new Float64Array(160_000), sampleRateHz: 16000 }], {
      sizeUv: 0.7,
    });
    // Jitter and scatter of the response make the mean of 40 sweeps and of all a little different.
    expect(Math.abs(truthPeakUv - 0.7)).toBeLessThan(0.02);
    const [plain] = lanes;
    expect(plain.strategy).toBe('plain-mean');
    expect(Math.abs(plain.amplitudeGain - 1)).toBeLessThan(1e-9);
    for (const [i, uv] of plain.averageUv.entries()) expect(Math.abs(uv - truthUv[i])).toBeLessThan(1e-9);
  });

  it('leaves in the plain mean the noise that theory says, and claims it honestly', () => {
    // White noise of density d through a band B: d·√B, and by √N less in the mean.
    const sizeUv = 20;
    const { lanes, sweepsOffered } = run([whiteUv(16000, 60, sizeUv)], { sizeUv: 0.5 });
    // Equivalent band of the second-order 100–1500 Hz filter: 1.11·(1500 − 100) Hz, two-pole Butterworth sides.
    const expectedUv = (sizeUv * Math.sqrt((1.11 * 1500 - 100 / 1.11) / 8000)) / Math.sqrt(sweepsOffered);
    const [plain] = lanes;
    // 11 ms of a 1.5 kHz band are about 33 degrees of freedom: 12 % standard error; three of them.
    expect(Math.abs(plain.residualNoiseUv / expectedUv - 1)).toBeLessThan(0.37);
    expect(Math.abs(plain.ownNoiseUv / expectedUv - 1)).toBeLessThan(0.37);
  });

  it('sets the rejection limit from the recording', () => {
    const { lanes } = run([whiteUv(16000, 20, 300)], {});
    const { parameters, usedCount } = lanes.find(
      ({ strategy }) => strategy === 'threshold-rejection',
    ) as (typeof lanes)[0];
    expect(parameters.thresholdUv).toBeGreaterThan(300);
    expect(usedCount).toBeGreaterThan(100);
  });

  it('fits the session to the recording, and takes the usual one where there is room', () => {
    const short = implantScenario([whiteUv(16000, 20, 1)], { kind: 'click-abr', sizeUv: null, document: {} });
    expect(short.session.durationS).toBeGreaterThan(15);
    expect(short.session.durationS).toBeLessThan(19);
    const own = { kind: 'click-abr', sizeUv: null, document: { session: { durationS: 5 } } } as const;
    expect(implantScenario([whiteUv(16000, 20, 1)], own).session.durationS).toBe(5);
  });

  it.each([
    ['click-abr', 256, 100, 0.5, "filter.lowPassHz must be below half the recording's sampling rate (128 Hz)"],
    ['cortical', 256, 10, 3, 'the recording must hold 8 sweeps of cortical at 0.47/s, got 10.0 s'],
    ['none', 16000, 20, 0.5, 'none gives no response to resize'],
    ['click-abr', 16000, 20, -1, 'size must be > 0 µV, got -1'],
    ['click-abr', 16000, 20, 500, 'response.amplitudeScale: must be'],
  ] as const)('refuses %s in a recording of %i Hz and %i s at %d µV', (kind, rateHz, seconds, sizeUv, message) => {
    const recording = { samplesUv: new Float64Array(rateHz * seconds), sampleRateHz: rateHz };
    expect(() => implantScenario([recording], { kind, sizeUv, document: {} })).toThrow(message);
  });
});

import { describe, expect, it } from 'vitest';
import { fCritical } from '../../src/core/quality/fDistribution.ts';
import { noiseIds } from '../../src/core/scenario/noiseIds.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { laneOf } from '../../src/core/session/lanes.ts';
import { race } from '../../src/core/session/race.ts';
import { startSession } from '../../src/core/session/session.ts';
import { interval } from './syntheticSweeps.ts';

// Published results on efficiency, reproduced in kind on steady-state responses; the others are in efficiency.test.ts.

describe('I08: sorting by quietness underestimates a response that adapts; weighting does not', () => {
  // Source: Prado-Gutierrez et al. 2019, PLoS ONE 14(1):e0206018 (abstract): in anaesthetised rats, 115 Hz, sorted averaging
  // underestimated the amplitude without artefacts; weighted averaging kept the course of adaptation. Patient: the model's
  // beat of 115 Hz, 0.8 µV large, in EEG of 0.3 µV and nothing else, so that a sweep shows it; it falls to 0.4 of its size in
  // 20 s and stays there for 100 s. In kind: nothing else of a rat. Measured: sorted 0.93 of the mean response, blocks 0.99.
  it('sorted loses 3 per cent or more, blocks of 8 less (8 patients, 99.9 %)', () => {
    const scenario = resolveScenario({
      response: { kind: 'steady-state', amplitudeScale: 20, trajectory: { startS: 0, endS: 20, amplitudeFactor: 0.4 } },
      stimulus: { modulationHz: 115 },
      session: { durationS: 120, mute: noiseIds.filter((id) => id !== 'eeg') },
      eeg: { slowUv: 0.3, floorNvPerRtHz: 5 },
    });
    const lanes = [
      laneOf(scenario, 'plain-mean'),
      laneOf(scenario, 'sorted-averaging'),
      laneOf(scenario, 'block-weighting', { blockLength: 8 }),
    ];
    const steps = race(scenario, { seed: 'adapts', replicates: 8, targetNv: 100, lanes });
    let step = steps.next();
    while (!step.done) step = steps.next();
    const [plain, sorted, blocks] = step.value.lanes.map(({ runs }) => interval(runs.map(({ gain }) => gain)));
    expect(sorted.high).toBeLessThan(0.97);
    expect(blocks.low).toBeGreaterThan(0.97);
    expect(Math.abs(plain.value - 1)).toBeLessThan(0.01);
  });
});

describe('I09, I10: how far above hearing a steady-state response is found after 5, 7.5 and 10 minutes', () => {
  // Source: Audiology Japan 52(2):126 (abstract): adults 19.5, 17.4, 15.6 dB (SD 11 among 11 adults: standard error 3.2);
  // sleeping children with hearing loss 13.1, 12.2, 11.7 dB (SD 14, 12 children), no gain from longer time. Patients: the
  // model's beat of 90 Hz, EEG of deep sleep, adults with thresholds of 0, children of 60 dB HL at all frequencies; threshold
  // is the lowest level found in half of all recordings at F(2, 30) of 5 %. Their rates and states are not known to us.
  // Measured: 22, 17, 14 dB and 14, 12, 11 dB.
  const MINUTES = [5, 7.5, 10];
  const BEAT_HZ = 90;
  const PATIENTS = 6;

  interface Phasor {
    real: number;
    imaginary: number;
  }

  function component(traceUv: Float64Array, hz: number): Phasor {
    const count = traceUv.length; // one second
    let real = 0;
    let imaginary = 0;
    for (let i = 0; i < count; i++) {
      real += (2 * traceUv[i] * Math.cos((2 * Math.PI * hz * i) / count)) / count;
      imaginary += (2 * traceUv[i] * Math.sin((2 * Math.PI * hz * i) / count)) / count;
    }
    return { real, imaginary };
  }

  const scenarioOf = (thresholdDb: number, levelDbNhl: number, session: object) =>
    resolveScenario({
      response: { kind: 'steady-state', amplitudeLogSd: 0 },
      stimulus: { modulationHz: BEAT_HZ, levelDbNhl },
      hearing: { thresholdsDbHl: new Array(5).fill(thresholdDb) },
      eeg: { state: 'deep-sleep' },
      session,
    });

  /** What noise leaves at 16 frequencies beside the beat, for each recording time and patient. */
  function noisePhasors(): Phasor[][][] {
    const scenario = scenarioOf(0, 60, { durationS: 60 * MINUTES[2] + 5 });
    const { sampleRateHz } = scenario.converter;
    const found = MINUTES.map(() => [] as Phasor[][]);
    for (let r = 0; r < PATIENTS; r++) {
      const session = startSession(scenario, `assr/${r}`);
      const sumUv = new Float64Array(sampleRateHz);
      let next = 0;
      for (let sweep = session.nextSweep(); sweep && next < MINUTES.length; sweep = session.nextSweep()) {
        for (let i = 0; i < sampleRateHz; i++) sumUv[i] += sweep.recordedUv[0][i] - sweep.truthUv[0][i];
        if (sweep.timeS < 60 * MINUTES[next]) continue;
        const meanUv = sumUv.map((value) => value / (sweep.index + 1));
        const beside = Array.from({ length: 8 }, (_, k) => [BEAT_HZ - 2 - k, BEAT_HZ + 2 + k]).flat();
        found[next++].push(beside.map((hz) => component(meanUv, hz)));
      }
    }
    return found;
  }

  /** Size of the beat behind the filters, µV. */
  function beatUv(thresholdDb: number, levelDbNhl: number): number {
    const session = startSession(scenarioOf(thresholdDb, levelDbNhl, { durationS: 10, mute: [...noiseIds] }), '1');
    session.nextSweep();
    const sweep = session.nextSweep();
    const { real, imaginary } = component(sweep?.truthUv[0].subarray(0, 2000) ?? new Float64Array(2000), BEAT_HZ);
    return Math.hypot(real, imaginary);
  }

  /** Whether a beat of this size and phase is found where the noise is that of one frequency, judged by the other ones. */
  function isFound(beside: readonly Phasor[], k: number, [real, imaginary]: readonly number[]): boolean {
    const power = (phasor: Phasor) => phasor.real ** 2 + phasor.imaginary ** 2;
    const others = beside.reduce((sum, phasor) => sum + power(phasor), 0) - power(beside[k]);
    const here = power({ real: beside[k].real + real, imaginary: beside[k].imaginary + imaginary });
    return here > (fCritical(2, 2 * (beside.length - 1), 0.05) * others) / (beside.length - 1);
  }

  function aboveHearingDb(noise: readonly Phasor[][], thresholdDb: number): number {
    for (let aboveDb = 3; aboveDb < 40; aboveDb++) {
      const size = beatUv(thresholdDb, thresholdDb + aboveDb);
      const phases = [
        [size, 0],
        [0, size],
        [-size, 0],
        [0, -size],
      ];
      const tries = noise.flatMap((beside) =>
        beside.flatMap((_, k) => phases.map((phase) => isFound(beside, k, phase))),
      );
      if (tries.filter(Boolean).length >= tries.length / 2) return aboveDb;
    }
    return NaN;
  }

  it('adults within 4 dB of the published means and falling, children too, and time gains them less', () => {
    const noise = noisePhasors();
    const adults = noise.map((beside) => aboveHearingDb(beside, 0));
    const children = noise.map((beside) => aboveHearingDb(beside, 60));
    for (const [m, published] of [19.5, 17.4, 15.6].entries()) {
      expect(Math.abs(adults[m] - published), `adults, ${MINUTES[m]} min`).toBeLessThan(4);
    }
    for (const [m, published] of [13.1, 12.2, 11.7].entries()) {
      expect(Math.abs(children[m] - published), `children, ${MINUTES[m]} min`).toBeLessThan(4);
      expect(children[m]).toBeLessThan(adults[m]);
    }
    expect(adults[0] - adults[2]).toBeGreaterThan(2);
    expect(children[0] - children[2]).toBeLessThan(adults[0] - adults[2]);
  });
});

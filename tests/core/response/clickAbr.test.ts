import { describe, expect, it } from 'vitest';
import { CLICK_ABR_END_MS, clickAbrTemplate, clickAbrWaves } from '../../../src/core/response/clickAbr.ts';
import { wavesUv } from '../../../src/core/response/waves.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

type Waves = ReturnType<typeof clickAbrWaves>;
const named = (waves: Waves, name: Waves[number]['name']) => waves.find((wave) => wave.name === name)!;
const ipsi = (level: number, rate = 10, polarity: 1 | -1 = 1) => clickAbrWaves(level, rate, polarity, 'ipsilateral');
const contra = (level: number, rate = 10, polarity: 1 | -1 = 1) =>
  clickAbrWaves(level, rate, polarity, 'contralateral');

describe('clickAbrWaves', () => {
  // The model's own table of wave V latencies at 10/s, to 0.01 ms: model values, no source.
  const latencies = [
    [85, 5.49],
    [75, 5.62],
    [65, 5.79],
    [55, 6.01],
    [45, 6.3],
    [30, 6.91],
    [20, 7.47],
  ] as const;
  it.each(latencies)('wave V at %d dB nHL comes at %d ms', (level, expectedMs) => {
    expect(named(ipsi(level), 'V').latencyMs).toBeCloseTo(expectedMs, 2);
  });

  it('has seven components in order of time', () => {
    for (const level of [3, 20, 45, 70, 100]) {
      const waves = ipsi(level);
      expect(waves.map(({ name }) => name)).toEqual(['I', 'II', 'III', 'IV', 'V', 'VI', 'SN']);
      for (let k = 1; k < waves.length; k++) expect(waves[k].latencyMs).toBeGreaterThan(waves[k - 1].latencyMs);
    }
  });

  it('intervals at high level: I–III 2.10, III–V 1.85, I–V 3.95 ms; I–V shortens by 0.003 ms/dB below 60', () => {
    for (const level of [60, 70, 85]) {
      const waves = ipsi(level);
      const [i, iii, v] = (['I', 'III', 'V'] as const).map((name) => named(waves, name).latencyMs);
      expect([iii - i, v - iii, v - i].map((ms) => Number(ms.toFixed(6)))).toEqual([2.1, 1.85, 3.95]);
    }
    const quiet = ipsi(40);
    expect(named(quiet, 'V').latencyMs - named(quiet, 'I').latencyMs).toBeCloseTo(3.95 - 20 * 0.003, 9);
  });

  // published-values C01: wave V about 0.5 ms later from 10 to 100 clicks/s.
  const shifts = [
    ['I', 0.135],
    ['III', 0.27],
    ['V', 0.495],
  ] as const;
  it.each(shifts)('rate 10 → 100/s moves wave %s by %d ms', (name, expectedMs) => {
    expect(named(ipsi(75, 100), name).latencyMs - named(ipsi(75, 10), name).latencyMs).toBeCloseTo(expectedMs, 9);
  });

  it('rate shrinks waves I and V, never below nothing', () => {
    for (const name of ['I', 'V'] as const) {
      let before = Infinity;
      for (const rate of [0.5, 10, 30, 60, 100]) {
        const { amplitudeUv } = named(ipsi(75, rate), name);
        expect(amplitudeUv).toBeLessThan(before);
        expect(amplitudeUv).toBeGreaterThan(0);
        before = amplitudeUv;
      }
    }
    expect(named(ipsi(75, 50), 'V').amplitudeUv / named(ipsi(75, 10), 'V').amplitudeUv).toBeCloseTo(0.9, 9);
    expect(named(ipsi(75, 80), 'I').amplitudeUv / named(ipsi(75, 10), 'I').amplitudeUv).toBeCloseTo(Math.exp(-1), 9);
  });

  it('amplitudes grow with level and follow the model', () => {
    for (const name of ['I', 'II', 'III', 'IV', 'V', 'VI'] as const) {
      let before = 0;
      for (let level = 3; level <= 100; level += 1) {
        const { amplitudeUv } = named(ipsi(level), name);
        expect(amplitudeUv, `${name} at ${level}`).toBeGreaterThan(before);
        before = amplitudeUv;
      }
    }
    expect(named(ipsi(70), 'V').amplitudeUv).toBeCloseTo(0.5 * (1 - Math.exp(-2)), 12);
    expect(named(ipsi(62), 'I').amplitudeUv).toBeCloseTo(0.14, 12);
    expect(named(ipsi(50), 'III').amplitudeUv).toBeCloseTo(0.13, 12);
  });

  it('waves widen below 70 dB nHL by 0.6 % per dB', () => {
    expect(named(ipsi(90), 'V').widthMs).toBe(0.36);
    expect(named(ipsi(70), 'V').widthMs).toBe(0.36);
    expect(named(ipsi(20), 'V').widthMs).toBeCloseTo(0.36 * 1.3, 12);
  });

  it('rarefaction: wave I 0.06 ms earlier and 15 % larger, wave V as it was', () => {
    const [condensation, rarefaction] = [ipsi(75, 10, 1), ipsi(75, 10, -1)];
    expect(named(rarefaction, 'I').latencyMs - named(condensation, 'I').latencyMs).toBeCloseTo(-0.06, 12);
    expect(named(rarefaction, 'I').amplitudeUv / named(condensation, 'I').amplitudeUv).toBeCloseTo(1.15, 12);
    expect(named(rarefaction, 'V')).toEqual(named(condensation, 'V'));
    expect(named(rarefaction, 'III')).toEqual(named(condensation, 'III'));
  });

  it('contralateral: hardly a wave I, III earlier, V later and smaller, IV and V further apart', () => {
    const [here, there] = [ipsi(75), contra(75)];
    const ratio = (name: Waves[number]['name']) => named(there, name).amplitudeUv / named(here, name).amplitudeUv;
    expect([ratio('I'), ratio('II'), ratio('III'), ratio('IV'), ratio('V')].map((r) => Number(r.toFixed(9)))).toEqual([
      0.1, 0.5, 0.5, 0.8, 0.85,
    ]);
    expect(named(there, 'III').latencyMs - named(here, 'III').latencyMs).toBeCloseTo(-0.1, 12);
    expect(named(there, 'V').latencyMs - named(here, 'V').latencyMs).toBeCloseTo(0.05, 12);
  });

  const audible = [
    [-10, 0],
    [2.999, 0],
    [3, 7],
    [100, 7],
  ] as const;
  it.each(audible)('at %d dB nHL there are %d waves', (level, expected) => {
    for (const channel of ['ipsilateral', 'contralateral'] as const) {
      expect(clickAbrWaves(level, 10, 1, channel)).toHaveLength(expected);
    }
  });
});

describe('the sum of the waves', () => {
  it('one wave: its amplitude at its latency, its trough behind it', () => {
    const wave = {
      ...named(ipsi(75), 'I'),
      latencyMs: 5,
      widthMs: 0.2,
      amplitudeUv: 2,
      troughRatio: 0.6,
      troughDelayMs: 9,
    };
    expect(wavesUv([wave], 5)).toBeCloseTo(2, 12);
    expect(wavesUv([wave], 5.2)).toBeCloseTo(2 * Math.exp(-0.5), 12);
    expect(wavesUv([wave], 14)).toBeCloseTo(-1.2, 12);
    expect(wavesUv([wave], 14 + 0.28), '1.4 times as wide').toBeCloseTo(-1.2 * Math.exp(-0.5), 12);
  });

  it('waves add, none is silence', () => {
    const waves = ipsi(75);
    const sum = waves.reduce((total, wave) => total + wavesUv([wave], 5.6), 0);
    expect(wavesUv(waves, 5.6)).toBeCloseTo(sum, 12);
    expect(wavesUv([], 5.6)).toBe(0);
  });

  it('overlap moves the peak: V of the sum comes 0.05 to 0.3 ms earlier than its component', () => {
    const waves = ipsi(75);
    let peakMs = 0;
    for (let ms = 5; ms < 6.5; ms += 0.001) if (wavesUv(waves, ms) > wavesUv(waves, peakMs)) peakMs = ms;
    const shiftMs = peakMs - named(waves, 'V').latencyMs;
    expect(shiftMs).toBeLessThan(-0.05); // wave IV pulls
    expect(shiftMs).toBeGreaterThan(-0.3);
  });
});

describe('clickAbrTemplate', () => {
  it('is the response at steps from the stimulus to its end', () => {
    const scenario = resolveScenario({ stimulus: { levelDbNhl: 75, ratePerS: 10 } });
    const template = clickAbrTemplate(scenario, -1, 'contralateral', 0.25);
    expect(template).toHaveLength(CLICK_ABR_END_MS / 0.25 + 1);
    for (const i of [0, 20, 23, 40]) expect(template[i]).toBe(wavesUv(contra(75, 10, -1), i * 0.25));
  });

  it('begins and ends in silence (below 10⁻⁴ of its peak), at every level and rate', () => {
    for (const levelDbNhl of [3, 10, 30, 60, 100]) {
      for (const ratePerS of [0.5, 27.7, 100]) {
        const scenario = resolveScenario({
          stimulus: { levelDbNhl, ratePerS },
          window: { postMs: 10, analysisToMs: 10 },
          session: { durationS: 60 },
        });
        const template = clickAbrTemplate(scenario, 1, 'ipsilateral', 0.01);
        const peak = Math.max(...template.map(Math.abs));
        expect(peak).toBeGreaterThan(0);
        const ends = [template[0], template[template.length - 1]];
        for (const end of ends) expect(Math.abs(end), `${levelDbNhl} dB, ${ratePerS}/s`).toBeLessThan(1e-4 * peak);
      }
    }
  });
});

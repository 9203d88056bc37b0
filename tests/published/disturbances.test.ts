import { describe, expect, it } from 'vitest';
import { brow } from '../../src/core/noise/brow.ts';
import { child } from '../../src/core/noise/child.ts';
import { eeg } from '../../src/core/noise/eeg.ts';
import { movement } from '../../src/core/noise/movement.ts';
import { muscle } from '../../src/core/noise/muscle.ts';
import { neck } from '../../src/core/noise/neck.ts';
import type { NoiseSource } from '../../src/core/noise/noiseSource.ts';
import { swallow } from '../../src/core/noise/swallow.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { playNoise } from '../core/noise/playNoise.ts';
import { bandPowers } from '../core/powerSpectrum.ts';
import { centralMoment, median, rms, standardDeviation } from '../core/sampleStatistics.ts';
import { blockSizes, excessKurtosis, filtered } from './realNoise.ts';

// Ids and sources stand beside each check. Rows that were found are limits; rows from memory are soft regions, a factor
// of 1.5 wider, and say so.

const RATE = 8000;
const SECONDS = 60;
// One burst without end: what remains is the muscle's own noise.
const held = { burstsPerS: 5, durationS: 60, durationLogSd: 0, burstLogSd: 0 };
const play = (source: NoiseSource, sections: object, seconds = SECONDS) => ({
  samplesUv: playNoise(source, { converter: { sampleRateHz: RATE }, ...sections }, seconds * RATE)[0],
  sampleRateHz: RATE,
});
const muscles = [
  ['jaw', play(muscle, { muscle: held })],
  ['throat', play(swallow, { swallow: held })],
  ['neck', play(neck, { neck: { tonicUv: 8, tonicLogSd: 0 } })],
  ['brow', play(brow, { brow: { ...held, rhythmShare: 0 } })],
] as const;

describe.each(muscles)('spectrum of the %s muscles', (_name, { samplesUv }) => {
  const share = (lowHz: number, highHz: number) => {
    const [inside, all] = bandPowers(samplesUv, RATE, 4096, [
      [lowHz, highHz],
      [1, RATE / 2],
    ]);
    return inside.power / all.power;
  };

  it('lies between 10 and 500 Hz: over 85 % [F01: various; J. Biomech. filtering study and teaching notes, found]', () => {
    expect(share(10, 500)).toBeGreaterThan(0.85);
  });

  it('has its largest octave and a half, of those tried, at 50–150 Hz [F02: as F01, found]', () => {
    const ratio = 3; // 50 to 150 Hz
    for (const lowHz of [5, 10, 17, 150, 300, 600]) expect(share(50, 150)).toBeGreaterThan(share(lowHz, lowHz * ratio));
  });

  it('passes 20 to 500 Hz nearly whole [F03: W. Rose, Electromyogram analysis notes, Univ. of Delaware 2014, found]', () => {
    expect(share(20, 500)).toBeGreaterThan(0.85);
    expect(share(10, 500) - share(20, 500)).toBeLessThan(0.06); // the two societies’ corners differ by little
  });

  it('loses little outside 15–25 to 400–500 Hz [A. van Boxtel, Psychophysiology 38, 2001, 22–34: from memory]', () => {
    // Optimum bands of facial, jaw, mouth and neck muscles. Soft: the narrowest of these bands keeps 80 %.
    expect(share(25, 400)).toBeGreaterThan(0.8);
    expect(share(15, 500) - share(25, 400)).toBeLessThan(0.15);
  });
});

describe('EMG', () => {
  it('of a jaw has its peak near 80–100 Hz [F01, weak page: soft, factor 1.5]', () => {
    const bands = Array.from({ length: 60 }, (_, k) => [10 + 5 * k, 15 + 5 * k] as const);
    const powers = bandPowers(muscles[0][1].samplesUv, RATE, 4096, bands).map(({ power }) => power);
    const smooth = powers.map(
      (_, k) =>
        powers.slice(Math.max(0, k - 4), k + 5).reduce((sum, value) => sum + value, 0) /
        Math.min(9, powers.length - k + 4),
    );
    const peakHz = 12.5 + 5 * smooth.indexOf(Math.max(...smooth.slice(4, -4)));
    expect(peakHz).toBeGreaterThan(80 / 1.5);
    expect(peakHz).toBeLessThan(100 * 1.5);
  });

  it('a corner of 20 Hz, 12 dB per octave, takes movement and leaves muscle [F20: De Luca et al. 2010, memory: soft]', () => {
    const left = (trace: { samplesUv: Float64Array; sampleRateHz: number }) => {
      // Filtered forwards and backwards, so twice as steep as the row says.
      return rms(filtered(trace, 20, 3000).samplesUv) / rms(filtered(trace, 0.2, 3000).samplesUv);
    };
    const pull = play(movement, { movement: { ...held, muscleShare: 0 } });
    expect(left(pull)).toBeLessThan(0.4);
    for (const [, trace] of muscles) expect(left(trace)).toBeGreaterThan(0.9);
  });
});

describe('EEG', () => {
  const states = ['deep-sleep', 'relaxed', 'alert'] as const;

  it.each(states)(
    '%s: 10 to 100 µV from peak to peak within a second [F11: instrumentation study guide, found]',
    (state) => {
      const { samplesUv } = play(eeg, { eeg: { state } });
      const heights = Array.from({ length: SECONDS }, (_, s) => {
        const second = samplesUv.subarray(s * RATE, (s + 1) * RATE);
        return Math.max(...second) - Math.min(...second);
      });
      expect(median(heights)).toBeGreaterThan(10);
      expect(median(heights)).toBeLessThan(100);
    },
  );

  const sweepUv = (...traces: { samplesUv: Float64Array; sampleRateHz: number }[]) => {
    const sum = traces[0].samplesUv.map((value, i) =>
      traces.slice(1).reduce((all, trace) => all + trace.samplesUv[i], value),
    );
    return median(blockSizes(filtered({ samplesUv: sum, sampleRateHz: RATE }, 100, 3000), 0.02));
  };

  it('sweeps at 100–3000 Hz: 0.5–1 µV asleep, 1–2 µV awake and quiet [F16: practice values, memory: soft]', () => {
    const asleep = sweepUv(play(eeg, { eeg: { state: 'deep-sleep' } }));
    expect(asleep).toBeGreaterThan(0.5 / 1.5);
    expect(asleep).toBeLessThan(1 * 1.5);
    const awake = sweepUv(play(eeg, {}));
    expect(awake).toBeGreaterThan(1 / 1.5);
    expect(awake).toBeLessThan(2 * 1.5);
  });

  it('and 3–10 µV in a restless patient [F16: practice values, memory: soft]', () => {
    const restless = { present: true, quiet: { dwellS: 0.1, muscleUv: 10 }, restless: { dwellS: 600 }, spellLogSd: 0 };
    const uneasy = sweepUv(play(eeg, {}), play(child, { child: restless }));
    expect(uneasy).toBeGreaterThan(3 / 1.5);
    expect(uneasy).toBeLessThan(10 * 1.5);
  });

  it('is symmetric and mildly longer-tailed than normal [A19: IEEE Trans. Biomed. Eng., late 1980s, found]', () => {
    const { samplesUv } = filtered(play(eeg, {}, 600), 100, 3000);
    expect(excessKurtosis(samplesUv)).toBeGreaterThan(0.02);
    expect(excessKurtosis(samplesUv)).toBeLessThan(1);
    const skewness = centralMoment(samplesUv, 3) / standardDeviation(samplesUv) ** 3;
    // About 200 independent values a second in a band that begins at 100 Hz: 4·√(6/120 000).
    expect(Math.abs(skewness)).toBeLessThan(4 * Math.sqrt(6 / (200 * 600)));
  });
});

describe('stimulus artefact', () => {
  it('leads the sound by the delay of an insert earphone, 0.8–1.0 ms [G06: Van Campen et al. 1992, found]', () => {
    const { tubeDelayMs } = resolveScenario({}).artefact;
    expect(tubeDelayMs).toBeGreaterThanOrEqual(0.8);
    expect(tubeDelayMs).toBeLessThanOrEqual(1);
  });

  it('which a tube of 278 mm explains [G07: Van Campen et al. 1992, found; F21: arithmetic at 343 m/s]', () => {
    const travelMs = (278 / 343) * 1;
    expect(travelMs).toBeCloseTo(0.81, 2);
    expect(Math.abs(resolveScenario({}).artefact.tubeDelayMs - travelMs)).toBeLessThan(0.1); // its coupling adds a little
  });
});

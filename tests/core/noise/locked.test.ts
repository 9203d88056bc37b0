import { describe, expect, it } from 'vitest';
import { artefact } from '../../../src/core/noise/artefact.ts';
import { artefactPeakUv } from '../../../src/core/noise/artefactSize.ts';
import { reflex } from '../../../src/core/noise/reflex.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { sessionDefaults } from '../../../src/core/scenario/sessionDefaults.ts';
import { startSession } from '../../../src/core/session/session.ts';
import { stimulusSchedule } from '../../../src/core/stimulus/schedule.ts';
import { bandPowers } from '../powerSpectrum.ts';
import { median, standardDeviation } from '../sampleStatistics.ts';
import { playNoise } from './playNoise.ts';

const RATE = 16_000;

/** The largest |a − factor·b| over the length of a. */
function largestDifference(a: Float64Array, b: Float64Array, factor: number): number {
  let most = 0;
  for (let i = 0; i < a.length; i++) most = Math.max(most, Math.abs(a[i] - factor * b[i]));
  return most;
}

/** The stimuli of a document within so many samples. */
function stimuli(document: object, sampleCount: number) {
  const next = stimulusSchedule(resolveScenario(document), '7');
  const found = [];
  for (let heard = next(); heard.sample + RATE / 20 < sampleCount; heard = next()) found.push(heard);
  return found;
}

describe('reflex', () => {
  const base = { stimulus: { ratePerS: 20, levelDbNhl: 85 }, window: { postMs: 40 } };
  const section = { peakUv: 5, probability: 0.6, amplitudeLogSd: 0.6 };
  const document = { ...base, reflex: section };
  const count = 200 * RATE;
  const [here, there] = playNoise(reflex, document, count);
  const at = (sample: number, ms: number) => here[sample + (ms * RATE) / 1000];
  const heard = stimuli(document, count);
  const answered = heard.filter(({ sample }) => at(sample, 12.5) !== 0);

  it('answers the asked share of the stimuli: 4 standard errors', () => {
    const expected = 0.6 * heard.length;
    expect(Math.abs(answered.length - expected)).toBeLessThan(4 * Math.sqrt(expected * 0.4));
  });

  it('is log-normal about its median: 4 standard errors', () => {
    // Vertex less mastoid: what is negative under the electrode is positive in the channel. The other bell takes 1.7 %.
    const logs = answered.map(({ sample }) => Math.log(at(sample, 12.5)));
    const se = 0.6 / Math.sqrt(logs.length);
    expect(Math.abs(median(logs) - Math.log(5))).toBeLessThan(4 * 1.25 * se + 0.02);
    expect(Math.abs(standardDeviation(logs) - 0.6)).toBeLessThan((4 * se) / Math.SQRT2);
  });

  it('turns over between 12.5 and 16.5 ms, and half as large on the other side', () => {
    for (const { sample } of answered.slice(0, 20)) {
      expect(at(sample, 16.5) / at(sample, 12.5)).toBeCloseTo(-1, 6);
      expect(there[sample + 200] / here[sample + 200]).toBeCloseTo(0.5, 9);
      expect(Math.abs(at(sample, 5) / at(sample, 12.5))).toBeLessThan(1e-5);
    }
  });

  const sizes = [
    // change, factor, why
    [{ reflex: { ...section, gaze: 'aside' } }, 3, 'eyes to the side'],
    [{ montage: { site: 'earlobe' } }, 0.1, 'the electrode moved to the lobe'],
    [{ stimulus: { ratePerS: 20, levelDbNhl: 62.5 } }, 0.5, 'half way between 40 and 85 dB'],
    [{ eeg: { state: 'alert' } }, 1, 'awake is awake'],
  ] as const;
  it.each(sizes)('%j: × %f (%s)', (change, factor) => {
    const [other] = playNoise(reflex, { ...document, ...change }, 40 * RATE);
    expect(largestDifference(other, here, factor)).toBeLessThan(1e-9);
  });

  it.each([
    { eeg: { state: 'deep-sleep' } },
    { eeg: { state: 'infant-asleep' } },
    { stimulus: { ratePerS: 20, levelDbNhl: 40 } },
    { reflex: { ...section, probability: 0 } },
  ])('is absent: %j', (change) => {
    expect(reflex.create(resolveScenario({ ...document, ...change }), '7')).toBeNull();
  });
});

describe('artefact', () => {
  const base = { stimulus: { ratePerS: 20, polarity: 'alternating' } };
  const section = { peakUv: 10 };
  const count = 10 * RATE;
  const document = { ...base, artefact: section };
  const [here, there] = playNoise(artefact, document, count);
  const heard = stimuli(document, count);

  it('comes 0.9 ms before the sound, lasts 0.2 ms and turns with the polarity', () => {
    for (const { sample, polarity } of heard) {
      const onset = sample - 0.9 * 16; // electric onset, in samples
      for (let i = sample - 40; i < sample + 40; i++) {
        const ms = (i - onset) / 16;
        const drive = ms > 0 && ms < 0.2 ? Math.sin((Math.PI * ms) / 0.2) ** 2 : 0;
        expect(here[i]).toBeCloseTo(10 * (polarity * drive + 0.02 * drive * drive), 9);
        expect(there[i]).toBeCloseTo(0.3 * here[i], 9);
      }
    }
  });

  it('leaves 1 to 3 % after alternation: the non-linear part', () => {
    const [first, second] = heard;
    const pair = Array.from({ length: 40 }, (_, i) => (here[first.sample - 20 + i] + here[second.sample - 20 + i]) / 2);
    const peak = Math.max(...here.subarray(first.sample - 20, first.sample));
    const left = Math.max(...pair.map(Math.abs)) / peak;
    expect(left).toBeGreaterThan(0.01);
    expect(left).toBeLessThan(0.03);
  });

  it('comes with the sound where there is no tube, five times as large through the bone', () => {
    const tubeless = { ...base.stimulus, transducer: 'supra-aural' };
    const [near] = playNoise(artefact, { ...document, stimulus: tubeless }, count);
    const { sample } = heard[1];
    expect(near.subarray(sample - 20, sample + 1).every((value) => value === 0)).toBe(true);
    expect(Math.abs(near[sample + 1])).toBeGreaterThan(1);
    const bone = { ...base.stimulus, transducer: 'bone', levelDbNhl: 40 };
    const [large] = playNoise(artefact, { ...document, stimulus: bone }, count);
    expect(largestDifference(large, near, 5)).toBeLessThan(1e-9);
  });

  const changed = [
    // what, times its size in both channels, why
    [{ stimulus: { levelDbNhl: 95 } }, [10, 10], '20 dB more than the usual 75: ten times the drive'],
    [{ leads: { shieldFactor: 0.05 } }, [0.05, 0.05], 'a shield lets a twentieth through'],
    [{ leads: { preampAtElectrode: true } }, [0.05, 0.05], 'hardly any wire is left'],
    // Z of a surface contact at 1 kHz: 0.5 + 4k/(1 + j·1.005) kΩ; from k = 1 to 4: 3 × 2.82 kΩ beside the residual 1 kΩ.
    [{ electrodes: { ipsilateral: { contactFactor: 4 } } }, [9.464, 1], 'one dry contact'],
    [{ electrodes: { common: { contactFactor: 4 } } }, [9.464, 9.464], 'the one that both channels share'],
    [
      { electrodes: { common: { contactFactor: 4 }, ipsilateral: { contactFactor: 4 } } },
      [1, 9.464],
      'alike is as good as none',
    ],
  ] as const;
  it.each(changed)('%j: × %j', (change, [nearer, farther], why) => {
    const stimulus = { ...base.stimulus, ...('stimulus' in change ? change.stimulus : {}) };
    const changedDocument = { ...document, ...change, stimulus };
    const before = artefactPeakUv(resolveScenario(document));
    expect(before).toEqual([10, 3]);
    const after = artefactPeakUv(resolveScenario(changedDocument));
    expect(after[0] / before[0], why).toBeCloseTo(nearer, 2);
    expect(after[1] / before[1], why).toBeCloseTo(farther, 2);
    const [played] = playNoise(artefact, changedDocument, count);
    expect(largestDifference(played, here, after[0] / before[0])).toBeLessThan(1e-9);
  });

  it('keeps its size in the usual session for every response', () => {
    for (const kind of Object.keys(sessionDefaults)) {
      expect(artefactPeakUv(resolveScenario({ response: { kind }, artefact: section })), kind).toEqual([10, 3]);
    }
  });

  it('is the tone itself for a tone burst, ramped', () => {
    const tone = { kind: 'tone-burst', frequencyHz: 1000, riseCycles: 2, plateauCycles: 1, transducer: 'supra-aural' };
    const stimulus = { ...base.stimulus, ...tone };
    const [burst] = playNoise(
      artefact,
      { response: { kind: 'tone-abr' }, stimulus, artefact: { ...section, residualRatio: 0 } },
      count,
    );
    const { sample, polarity } = stimuli({ response: { kind: 'tone-abr' }, stimulus }, count)[0];
    for (let i = -20; i < 120; i++) {
      const cycle = i / 16;
      const ramp = Math.max(0, Math.min(1, cycle / 2, (5 - cycle) / 2));
      expect(burst[sample + i]).toBeCloseTo(10 * polarity * ramp * Math.sin(2 * Math.PI * cycle), 6);
    }
  });

  it('never ends with a modulated tone, and is filtered out beyond half the sample rate', () => {
    const stimulus = { kind: 'modulated-tone', frequencyHz: 500, modulationHz: 40 };
    const steady = {
      response: { kind: 'steady-state' },
      stimulus,
      artefact: { ...section, residualRatio: 0 },
      converter: { sampleRateHz: 2000 },
    };
    const [tone] = playNoise(artefact, steady, 65_536);
    const [carrier, sides] = bandPowers(tone, 2000, 4096, [
      [497, 503],
      [455, 545],
    ]);
    // (1 − cos)/2 of a carrier: half its amplitude at f, a quarter at f ± 40 Hz: powers 12.5 and 2 × 3.125 µV².
    expect(carrier.power).toBeCloseTo(12.5, 1);
    expect(sides.power).toBeCloseTo(18.75, 1);
    const high = { ...steady, stimulus: { ...stimulus, frequencyHz: 1000 } };
    expect(artefact.create(resolveScenario(high), '7')).toBeNull();
  });
});

describe('locked sources in a session', () => {
  const document = {
    session: { durationS: 6 },
    stimulus: { ratePerS: 20, levelDbNhl: 80, jitterMs: 2 },
    response: { kind: 'none' },
    reflex: { peakUv: 20 },
    artefact: { peakUv: 20 },
    amplifier: { rangeUv: 1000 },
  };
  const record = (changes: object, blockSampleCount?: number) => {
    const session = startSession(resolveScenario({ ...document, ...changes }), '4', blockSampleCount);
    const sweeps: number[][] = [];
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) sweeps.push([...sweep.recordedUv[0]]);
    return sweeps;
  };
  const whole = record({});

  it.each([1, 37, 4096])('give the same bits in blocks of %i samples', (blockSampleCount) => {
    expect(record({}, blockSampleCount)).toEqual(whole);
  });

  it('obey an event: what came before stays to the bit, what comes after is gone', () => {
    const muted = record({ reflex: { peakUv: 0 }, artefact: { peakUv: 0 } });
    const set = { 'reflex.peakUv': 0, 'artefact.peakUv': 0 };
    const changed = record({ events: [{ atS: 3, set }] });
    expect(changed.slice(0, 59)).toEqual(whole.slice(0, 59));
    // Filters ring for a while after the last artefact: a tenth of a second is enough for a millionth.
    for (let k = 66; k < changed.length; k++) {
      for (let i = 0; i < changed[k].length; i++) expect(Math.abs(changed[k][i] - muted[k][i])).toBeLessThan(0.1);
    }
    expect(Math.max(...whole[100].map((value, i) => Math.abs(value - muted[100][i])))).toBeGreaterThan(1);
  });
});

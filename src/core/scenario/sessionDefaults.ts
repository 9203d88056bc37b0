import type { Scenario } from './schema.ts';
import { stimulus } from './sections/stimulus.ts';

/**
 * What a session for each kind of response usually looks like: rate, window, filters, gain, sample rate, target.
 *
 * `resolveScenario` puts these under the user's document, and the defaults of the schema under these. The schema's own
 * defaults are those of a click ABR. Bands, gains and sweeps of the cervical response follow the guideline [PA14];
 * everything else is common practice, no source. The widest gap of an absence is to the target what 25 nV are to 40 (our
 * choice). Rates keep clear of whole fractions of 50 and 60 Hz.
 */
export const sessionDefaults: Record<Scenario['response']['kind'], object> = {
  'click-abr': {},
  none: {},
  'tone-abr': {
    session: { durationS: 360, targetNv: 30 },
    stimulus: { kind: 'tone-burst', frequencyHz: 1000, ratePerS: 31 },
    filter: { highPassHz: 30 },
    window: { postMs: 25, analysisFromMs: 4, analysisToMs: 20 },
  },
  ecochg: {
    session: { durationS: 300, targetNv: 25 },
    measures: { absentGapNv: 16 },
    stimulus: { levelDbNhl: 90, ratePerS: 11.3 },
    converter: { sampleRateHz: 32000 },
    filter: { highPassHz: 5, lowPassHz: 3000 },
    montage: { site: 'canal' },
    electrodes: { ipsilateral: { type: 'canal' }, contralateral: { type: 'canal' } },
    window: { preMs: 2, postMs: 6, analysisFromMs: 0.5, analysisToMs: 4 },
    // Slow EEG drifts through a window this short: its slope has to go as well as its mean.
    averaging: { baseline: 'linear' },
  },
  cvemp: {
    session: { durationS: 30, targetNv: 20000 },
    measures: { absentGapNv: 12500 },
    stimulus: {
      ...{ kind: 'tone-burst', frequencyHz: 500, plateauCycles: 1, levelDbNhl: 97, ratePerS: 5.1 },
      polarity: 'rarefaction',
    },
    amplifier: { rangeUv: 1000 },
    converter: { sampleRateHz: 8000 },
    filter: { highPassHz: 10, lowPassHz: 1000 },
    montage: { site: 'neck' },
    window: { preMs: 20, postMs: 80, analysisFromMs: 5, analysisToMs: 40 },
    averaging: {
      thresholdRejection: { thresholdUv: 800 },
      adaptiveRejection: { ceilingUv: 800 },
      muscleNormalised: { lowestUv: 50, highestUv: 250 },
      ruleSet: { task: 1, ceilingUv: 800 },
    },
  },
  ovemp: {
    session: { durationS: 58, targetNv: 400 },
    measures: { absentGapNv: 250 },
    stimulus: {
      ...{ kind: 'tone-burst', frequencyHz: 500, plateauCycles: 1, levelDbNhl: 97, ratePerS: 5.1 },
      ...{ polarity: 'rarefaction', trainS: 10, restS: 8 },
    },
    amplifier: { rangeUv: 250 },
    converter: { sampleRateHz: 8000 },
    filter: { highPassHz: 1, lowPassHz: 1000 }, // 1 and not 10 Hz: MODEL.md, departures
    montage: { site: 'infra-orbital' },
    eyes: { muscleUv: 4 },
    window: { preMs: 20, postMs: 60, analysisFromMs: 5, analysisToMs: 25 },
    averaging: {
      channel: 'contralateral',
      baseline: 'pre-stimulus',
      thresholdRejection: { thresholdUv: 100 },
      adaptiveRejection: { ceilingUv: 100 },
      behaviourGated: { lowestGazeDeg: 30 },
    },
  },
  'middle-latency': {
    session: { durationS: 420, targetNv: 100 },
    measures: { absentGapNv: 60 },
    stimulus: { levelDbNhl: 70, ratePerS: 7.1 },
    amplifier: { rangeUv: 200 },
    converter: { sampleRateHz: 8000 },
    filter: { highPassHz: 5, lowPassHz: 300 },
    window: { preMs: 20, postMs: 100, analysisFromMs: 12, analysisToMs: 65 },
    averaging: { baseline: 'pre-stimulus', ...limits(50) },
  },
  cortical: {
    session: { durationS: 240, targetNv: 700 },
    measures: { absentGapNv: 440 },
    stimulus: {
      kind: 'tone-burst',
      frequencyHz: 1000,
      riseCycles: 10,
      plateauCycles: 40,
      levelDbNhl: 70,
      ratePerS: 0.47,
    },
    amplifier: { rangeUv: 250 },
    converter: { sampleRateHz: 2000 },
    filter: { highPassHz: 1, highPassOrder: 1, lowPassHz: 30 },
    window: { preMs: 100, postMs: 500, analysisFromMs: 40, analysisToMs: 300 },
    averaging: { baseline: 'pre-stimulus', ...limits(100) },
  },
  'steady-state': {
    session: { durationS: 480, targetNv: 150 },
    measures: { absentGapNv: 95 },
    stimulus: { kind: 'modulated-tone', ratePerS: 0.94, levelDbNhl: 60, polarity: 'condensation' },
    amplifier: { rangeUv: 200 },
    converter: { sampleRateHz: 2000 },
    filter: { highPassHz: 30, lowPassHz: 150 },
    window: { preMs: 0, postMs: 1060, analysisFromMs: 0, analysisToMs: 1000 },
    averaging: limits(60, { skipMs: 0 }),
  },
};

/** The level at which a response of this kind is usually sought, dB nHL. @example usualLevelDbNhl('cvemp') // 97 */
export function usualLevelDbNhl(kind: Scenario['response']['kind']): number {
  const defaults: { stimulus?: { levelDbNhl?: number } } = sessionDefaults[kind];
  return defaults.stimulus?.levelDbNhl ?? stimulus.properties.levelDbNhl.default;
}

/** The limit of both kinds of rejection, µV. */
function limits(limitUv: number, more: object = {}) {
  return {
    thresholdRejection: { thresholdUv: limitUv, ...more },
    adaptiveRejection: { ceilingUv: limitUv, ...more },
  };
}

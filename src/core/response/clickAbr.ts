import { exp } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';
import { heardEars } from './heardEars.ts';
import { MODEL_ADULT, type NeuralEar, neuralEar } from './neuralEar.ts';
import type { ResponseKind } from './responseKind.ts';
import { type Channel, tabulate } from './templateResponse.ts';
import { jitteredWaves } from './waveJitter.ts';
import { type Wave, wavesUv } from './waves.ts';

/** Click-evoked auditory brainstem response: waves I–VI and the slow negativity. */
export const clickAbr: ResponseKind = {
  id: 'click-abr',
  label: 'Click ABR',
  create: (scenario, seed) =>
    jitteredWaves(scenario, seed, {
      endMs: CLICK_ABR_END_MS,
      waves: (polarity, channel) => wavesAt(scenario, polarity, channel, seed),
      extraJitterMs: nerveJitterMs(scenario),
    }),
};

/**
 * The seven components for one level, rate, polarity and channel of one ear.
 *
 * The sum is `wavesUv`; t = 0 is the arrival of the sound at the ear tip. Every constant is a model value (our choice,
 * plausible for teaching) unless a source is named. Overlap moves the peaks: τ_V is not the latency of peak V in the sum.
 *
 * @param levelDbNhl - level at which a normal ear would answer as large; below 3 there is no wave   @param ear - the person
 * @param channel - seen from this ear: 'ipsilateral' is its own side
 * @param timingDbNhl - level at which a normal ear would answer as early
 */
export function clickAbrWaves(
  levelDbNhl: number,
  ratePerS: number,
  polarity: 1 | -1,
  channel: Channel,
  ear: NeuralEar = MODEL_ADULT,
  timingDbNhl = levelDbNhl,
): Wave[] {
  if (levelDbNhl < 3) return []; // dB nHL: below hearing there is no response
  const contra = channel === 'contralateral';
  const rarefaction = polarity === -1;
  const fasterPerS = (ratePerS - 10) * ear.rateFactor;

  // Rate: wave V is 0.5 ms later at 100/s than at 10/s [DA77]; earlier waves shift less (model values).
  const latencyV = clickLatencyVMs(timingDbNhl) + 0.0055 * fasterPerS + (contra ? 0.05 : 0) + ear.latencyVMs;
  const quietDb = Math.max(0, 60 - timingDbNhl);
  const intervalIToV = 3.95 - 0.003 * quietDb;
  const latencyVAtReference = clickLatencyVMs(timingDbNhl);
  const latencyI =
    latencyVAtReference - intervalIToV + 0.0015 * fasterPerS + (rarefaction ? -0.06 : 0) + ear.latencyIMs;
  const latencyIII =
    latencyVAtReference - (intervalIToV * 1.85) / 3.95 + 0.003 * fasterPerS + (contra ? -0.1 : 0) + ear.latencyIIIMs;

  const sizeV = 0.5 * (1 - exp(-levelDbNhl / 35)) * Math.max(0.1, 1 - 0.0025 * fasterPerS) * ear.sizeV;
  const sizeI =
    (0.28 / (1 + exp(-(levelDbNhl - 62) / 9))) * exp(-fasterPerS / 70) * (rarefaction ? 1.15 : 1) * ear.sizeI;
  const sizeIII = (0.26 / (1 + exp(-(levelDbNhl - 50) / 10))) * ear.sizeIII;
  const widening = 1 + 0.006 * Math.max(0, 70 - timingDbNhl);

  const wave = (name: string, latencyMs: number, widthMs: number, amplitudeUv: number, contraGain: number): Wave => ({
    name,
    latencyMs,
    widthMs: widthMs * widening,
    amplitudeUv: amplitudeUv * (contra ? contraGain : 1),
    troughRatio: name === 'V' ? 0.9 : 0.6,
    troughDelayMs: name === 'V' ? 1.15 : 1.9 * widthMs * widening,
  });
  return [
    wave('I', latencyI, 0.2, sizeI, 0.1),
    wave('II', latencyI + 1.05, 0.22, 0.45 * sizeIII, 0.5),
    wave('III', latencyIII, 0.25, sizeIII, 0.5),
    wave('IV', latencyV - 0.55, 0.3, (0.55 * sizeV * levelDbNhl) / 85, 0.8),
    wave('V', latencyV, 0.36, sizeV, 0.85),
    wave('VI', latencyV + 1.6, 0.4, 0.25 * sizeV, 0.85), // size: our choice, no source
    { ...wave('SN', latencyV + 2.4, 0.9, -0.3 * sizeV, 0.85), troughRatio: 0 }, // size: our choice, no source
  ];
}

/** Latency of the wave V component at 10/s, ms: 5.05 + 4.1·e^(−L/38). Model values. */
export function clickLatencyVMs(levelDbNhl: number): number {
  return 5.05 + 4.1 * exp(-levelDbNhl / 38);
}

/** Time after the stimulus at which the response is over, ms: the template ends here. */
export const CLICK_ABR_END_MS = 18;

/** Tabulates the response of one polarity and channel, µV, at `stepMs`. */
export function clickAbrTemplate(
  scenario: Scenario,
  polarity: 1 | -1,
  channel: Channel,
  stepMs: number,
  seed = '',
): Float64Array {
  const waves = wavesAt(scenario, polarity, channel, seed);
  return tabulate((timeMs) => wavesUv(waves, timeMs), CLICK_ABR_END_MS, stepMs);
}

/** Adds up what the ears that hear the click send to one channel. The far ear sees the channels exchanged. */
function wavesAt(scenario: Scenario, polarity: 1 | -1, channel: Channel, seed: string): Wave[] {
  const { ratePerS } = scenario.stimulus;
  return heardEars(scenario).flatMap(({ side, levelDbNhl, timingDbNhl }) =>
    clickAbrWaves(
      levelDbNhl,
      ratePerS,
      polarity,
      seenFrom(side, channel),
      nearNerve(scenario, neuralEar(scenario, seed, side)),
      timingDbNhl,
    ),
  );
}

const CANAL_GAIN_I = 1.7; // × the mastoid: wave I is found 5 to 10 dB lower (D21); as large as the action potential there

/** An ear whose wave I is larger where the electrode lies in the ear canal. The earlobe sees what the mastoid does. */
export function nearNerve({ montage }: Pick<Scenario, 'montage'>, ear: NeuralEar): NeuralEar {
  return montage.site === 'canal' ? { ...ear, sizeI: CANAL_GAIN_I * ear.sizeI } : ear;
}

/** The channel as an ear sees it: the ipsilateral channel of the recording is contralateral for the far ear. */
export function seenFrom(side: 'test' | 'far', channel: Channel): Channel {
  if (side === 'test') return channel;
  return channel === 'ipsilateral' ? 'contralateral' : 'ipsilateral';
}

/** Jitter that a nerve out of step adds to every latency, ms. */
export function nerveJitterMs(scenario: Scenario): number {
  const { present, jitterMs } = scenario.hearing.desynchrony;
  return present ? jitterMs : 0;
}

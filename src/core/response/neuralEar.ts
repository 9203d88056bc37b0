import { exp } from '../elementary.ts';
import { nextGaussian, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import type { HeardEar } from './heardEars.ts';

/** How one ear of one person departs from the model adult: added latencies, factors of size. */
export interface NeuralEar {
  latencyIMs: number;
  latencyIIIMs: number;
  latencyVMs: number;
  sizeI: number;
  sizeIII: number;
  sizeV: number;
  /** How much more a faster rate delays and shrinks the waves. */
  rateFactor: number;
}

/** The model adult: a man of 25 years with normal hearing. */
export const MODEL_ADULT: NeuralEar = {
  latencyIMs: 0,
  latencyIIIMs: 0,
  latencyVMs: 0,
  sizeI: 1,
  sizeIII: 1,
  sizeV: 1,
  rateFactor: 1,
};

const NORMAL_C = 37;
const SILENT_C = 25; // °C, all waves vanish below (C35); in between our choice
const WEEKS_TO_MATURITY = 78; // 18 months [GO89]

/**
 * Works out what person and hearing do to the brainstem waves of one ear.
 *
 *     women        V −0.18 ms, I–V −0.10 ms, every wave 25 % larger [JH80]
 *     adults       +0.0067 ms and −1/300 of the size per year after 25 [JH80], at most +0.25 ms and −20 %; I–V stays [KM12]
 *     infants      I–V + 0.45·e^(−a/5) + 0.55·e^(−a/100) ms, a in weeks; wave I + 0.06·e^(−a/5) ms
 *     temperature  wave V −0.2 ms per °C, half of it before wave III; no wave at 25 °C and below, in full from 34 °C on
 *     slope        all waves +0.01 ms per dB of loss at 4 kHz above 50 dB, wave I down to 0.4 of its size
 *     nerve        III and V later and smaller; rate counts double; out of step: every wave small
 *     scatter      wave I 0.1 ms, I–III and III–V 0.12 ms each, so V 0.2 ms; log-size 0.35 (deviations between people)
 *
 * Model values where no source is named. The far ear has the person, but not the hearing loss, of the test ear.
 * Scatter draws from the stream 'patient/brainstem', so it belongs to the seed.
 */
export function neuralEar(scenario: Scenario, seed: string, side: HeardEar['side'] = 'test'): NeuralEar {
  const ear = { ...MODEL_ADULT };
  if (scenario.patient.infant.present) applyInfant(ear, scenario.patient.infant.weeksPastTerm);
  else applyAdult(ear, scenario.patient.ageYears, scenario.patient.sex === 'female');
  applyTemperature(ear, scenario.patient.temperatureC);
  if (side === 'test') applyHearingLoss(ear, scenario.hearing);
  if (scenario.patient.scatter > 0) applyScatter(ear, scenario.patient.scatter, seed);
  return ear;
}

function later(ear: NeuralEar, waveIMs: number, waveIIIMs: number, waveVMs: number): void {
  ear.latencyIMs += waveIMs;
  ear.latencyIIIMs += waveIIIMs;
  ear.latencyVMs += waveVMs;
}

function scale(ear: NeuralEar, waveI: number, waveIII: number, waveV: number): void {
  ear.sizeI *= waveI;
  ear.sizeIII *= waveIII;
  ear.sizeV *= waveV;
}

function applyAdult(ear: NeuralEar, ageYears: number, female: boolean): void {
  const years = Math.max(0, ageYears - 25);
  const delayMs = Math.min(0.25, (0.2 / 30) * years); // 0.2 ms from 25 to 55 [JH80]; the limit is a model value
  const size = Math.max(0.8, 1 - (0.1 / 30) * years); // −10 % from 25 to 55 [JH80]; the limit is a model value
  later(ear, delayMs, delayMs, delayMs);
  scale(ear, size * size, size * size, size); // earlier waves lose more [KM12]; how much more: our choice
  if (!female) return;
  later(ear, -0.08, -0.13, -0.18); // III, V, I–III and I–V are shorter; the split is our choice
  scale(ear, 1.25, 1.25, 1.25); // [JH80] for wave V
}

function applyInfant(ear: NeuralEar, weeks: number): void {
  // Two-time-constant shape of the maturation as in [ES88], constants are model values.
  const intervalMs = 0.45 * exp(-weeks / 5) + 0.55 * exp(-weeks / 100);
  const cochleaMs = 0.06 * exp(-weeks / 5); // wave I is all but mature at term [HU05]
  later(ear, cochleaMs, cochleaMs + 0.62 * intervalMs, cochleaMs + intervalMs); // 62 % before wave III [CH21]
  const grown = Math.min(1, weeks / WEEKS_TO_MATURITY);
  const size = 0.55 + 0.35 * grown;
  scale(ear, 1.3, size, size);
  ear.rateFactor *= 2 - grown;
}

function applyTemperature(ear: NeuralEar, temperatureC: number): void {
  if (temperatureC === NORMAL_C) return;
  const delayMs = 0.2 * (NORMAL_C - temperatureC); // 0.22 and 0.19 ms where it rises by a degree (C33, C34)
  later(ear, 0.25 * delayMs, 0.5 * delayMs, delayMs); // nerve and synapses alike: our choice
  const size = Math.min(1, Math.max(0, (temperatureC - SILENT_C) / (34 - SILENT_C)));
  scale(ear, size, size, size);
}

function applyHearingLoss(ear: NeuralEar, hearing: Scenario['hearing']): void {
  const [, at1kHz, , at4kHz] = hearing.thresholdsDbHl;
  const slope = Math.min(1, Math.max(0, (at4kHz - at1kHz - 10) / 20)); // 0 flat … 1 steep
  const delayMs = slope * 0.01 * Math.max(0, at4kHz - 50);
  later(ear, delayMs, delayMs, delayMs);
  scale(ear, 1 - 0.6 * slope, 1, 1);
  const { retrocochlear, desynchrony } = hearing;
  if (retrocochlear.present) {
    later(ear, 0, retrocochlear.delayMs, retrocochlear.delayMs);
    scale(ear, 1, retrocochlear.laterWavesGain, retrocochlear.laterWavesGain);
    ear.rateFactor *= retrocochlear.rateFactor;
  }
  if (desynchrony.present) scale(ear, desynchrony.neuralGain, desynchrony.neuralGain, desynchrony.neuralGain);
}

function applyScatter(ear: NeuralEar, share: number, seed: string): void {
  const draws = stream(seed, 'patient/brainstem');
  const draw = (sd: number) => share * sd * nextGaussian(draws);
  const waveIMs = draw(0.1);
  const waveIIIMs = waveIMs + draw(0.12);
  const waveVMs = waveIIIMs + draw(0.12);
  const common = draw(0.3); // log-size; with the part of each wave 0.35 in all
  later(ear, waveIMs, waveIIIMs, waveVMs);
  scale(ear, exp(common + draw(0.18)), exp(common + draw(0.18)), exp(common + draw(0.18)));
}

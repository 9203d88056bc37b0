import { contactOf, type ElectrodeName, type Impedance, inputOf } from '../chain/contact.ts';
import { connectionsOf } from '../chain/leadConnections.ts';
import { cosineOfCycles } from '../elementary.ts';
import { fillGaussian, type Stream, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { CONTACT_STEP_SAMPLES, contactLosses } from './contactLoss.ts';
import { CHANNEL_COUNT, type PlayingNoise } from './noiseSource.ts';

/** A spectrum that has one level above a corner and a higher one below: flat + low/(1 + (f/corner)²). */
export interface SteppedSpectrum {
  flat: number;
  low: number;
  cornerHz: number;
}

/** The three inputs that reach a channel; each has a stream of its own, named by the electrode at it. */
const INPUTS: readonly ElectrodeName[] = ['common', 'ipsilateral', 'contralateral'];

/**
 * Plays a noise of the contacts: one Gaussian process in each electrode, seen between the inputs.
 *
 *     x_c = n_plus − n_minus,c
 *
 * Each process takes one draw a sample through one pole and one zero; see `oneDrawFilter`. While a contact is nearly
 * lost its spectrum is another one and its draws are the same. An open lead is its few picofarad beside the input.
 *
 * @param name - of the streams, by electrode   @param spectrum - one-sided density of a contact, µV²/Hz
 */
export function contactNoise(
  scenario: Scenario,
  seed: string,
  name: string,
  spectrum: (impedance: Impedance) => SteppedSpectrum,
): PlayingNoise {
  const { sampleRateHz } = scenario.converter;
  const { plus, minus, sign } = connectionsOf(scenario);
  const losses = contactLosses(scenario, seed);
  const seen = (electrode: ElectrodeName, lost: boolean) => {
    const contact = contactOf(scenario, electrode, lost);
    return scenario.electrodes[electrode].open ? beside(contact, inputOf(scenario)) : contact;
  };
  const filterOf = (electrode: ElectrodeName, lost: boolean) =>
    oneDrawFilter(spectrum(seen(electrode, lost)), sampleRateHz);
  const sources = INPUTS.map((electrode, index) => ({
    electrode,
    draws: stream(seed, name, index),
    held: filterOf(electrode, false),
    lost: filterOf(electrode, true),
    last: Float64Array.of(0),
    signs: minus.map((other) => sign * (Number(electrode === plus) - Number(electrode === other))),
  }));
  let noise = new Float64Array(0);

  return {
    addUv(channelsUv, start, count) {
      if (noise.length < count) noise = new Float64Array(count);
      for (let from = 0; from < count; ) {
        const at = start + from;
        const step = Math.floor(at / CONTACT_STEP_SAMPLES);
        const length = losses.never ? count : Math.min(count - from, (step + 1) * CONTACT_STEP_SAMPLES - at);
        for (const { electrode, draws, held, lost, last, signs } of sources) {
          const isLost = !losses.never && losses.isLost(electrode, (step * CONTACT_STEP_SAMPLES) / sampleRateHz);
          shape(draws, isLost ? lost : held, last, noise, length);
          for (let c = 0; c < CHANNEL_COUNT; c++) {
            const gain = signs[c];
            const out = channelsUv[c];
            if (gain !== 0) for (let i = 0; i < length; i++) out[from + i] += gain * noise[i];
          }
        }
        from += length;
      }
    },
  };
}

/** w = x + pole·w[−1],   y = now·w + before·w[−1] */
interface OneDrawFilter {
  pole: number;
  now: number;
  before: number;
}

/**
 * Designs the filter that gives white noise of variance 1 a stepped spectrum.
 *
 *     S(f) = (2/rate)·|now + before·z⁻¹|²/|1 − pole·z⁻¹|²
 *
 * The part below the corner is met exactly at 0, at the corner (or an eighth of the rate, if that is lower) and at a
 * quarter of the rate. In between it errs by less than 0.8 %; above a quarter of the rate by up to half of itself, there
 * where little of it is left. The flat part is exact.
 *
 * @throws {RangeError} if a density is negative or the corner is not above 0
 */
export function oneDrawFilter({ flat, low, cornerHz }: SteppedSpectrum, sampleRateHz: number): OneDrawFilter {
  if (!(flat >= 0 && low >= 0)) throw new RangeError(`oneDrawFilter: densities must be >= 0, got ${flat} and ${low}`);
  if (!(cornerHz > 0)) throw new RangeError(`oneDrawFilter: cornerHz must be > 0, got ${cornerHz}`);
  // (A + B·cos)/(1 − k·cos) through three points: linear in A, B, k. At a quarter of the rate cos = 0, so A is known.
  const corner = cornerHz / sampleRateHz;
  const first = Math.min(corner, 0.125);
  const density = (turns: number) => 1 / (1 + (turns / corner) * (turns / corner));
  const cos = cosineOfCycles(first);
  const a = density(0.25);
  const s = density(first);
  // At 0: A + B + k = 1. At the first point: A + B·cos + k·s·cos = s.
  const k = (s - a - (1 - a) * cos) / (cos * (s - 1));
  const b = 1 - a - k;

  const pole = k / (1 + Math.sqrt(1 - k * k)); // 1 − k·cos ∝ 1 + pole² − 2·pole·cos
  const scale = (1 + pole * pole) * (sampleRateHz / 2);
  const constant = scale * (low * a + flat);
  const swing = scale * (low * b - flat * k);
  const high = Math.sqrt(Math.max(0, constant + swing));
  const less = Math.sqrt(Math.max(0, constant - swing));
  return { pole, now: (high + less) / 2, before: (high - less) / 2 };
}

function shape(draws: Stream, filter: OneDrawFilter, last: Float64Array, out: Float64Array, count: number): void {
  fillGaussian(draws, out, count);
  const { pole, now, before } = filter;
  let old = last[0];
  for (let i = 0; i < count; i++) {
    const fresh = out[i] + pole * old;
    out[i] = now * fresh + before * old;
    old = fresh;
  }
  last[0] = old;
}

/** Two contacts without series resistance, side by side. */
function beside(a: Impedance, b: Impedance): Impedance {
  return {
    seriesOhm: 0,
    parallelOhm: 1 / (1 / a.parallelOhm + 1 / b.parallelOhm),
    parallelFarad: a.parallelFarad + b.parallelFarad,
  };
}

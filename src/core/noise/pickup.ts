import type { ElectrodeName } from '../chain/contact.ts';
import { electrodeNames } from '../chain/contact.ts';
import { type Complex, plus, sizeOf, times } from '../complex.ts';
import { cosineOfCycles, PI, sineOfCycles } from '../elementary.ts';
import { nextUniform, stream } from '../random/stream.ts';
import { contactLosses } from './contactLoss.ts';
import { lineFrequency, LINE_STEP_SAMPLES as STEP_SAMPLES } from './lineFrequency.ts';
import { CHANNEL_COUNT, type NoiseSource } from './noiseSource.ts';
import { type PathPhasors, PICKUP_HARMONICS, type PickupPathId, pathPhasors, pickupPathIds } from './pickupPaths.ts';
import { smoothWander } from './smoothWander.ts';

/** Paths that reach both channels with one phase; the others have a lead of their own in each. */
const SHARED: readonly PickupPathId[] = ['imbalance'];

/**
 * Pickup from the supply by its entry paths: currents into body and leads, field through the loop.
 *
 *     x_c(t) = [1 + m·w(t)]·Σ_h Re{ e^(jhφ(t))·Σ_path V_path,h,c·e^(jθ_path,h,c) }
 *
 * V comes from `pathPhasors`, φ is the phase of the same supply as in the source `mains`, θ are uniform; w(t) is a smooth
 * wander of variance 1 (people who move). While a contact is nearly lost, V is what its resistance then makes of it.
 * Every harmonic is a recurrence, started afresh at each step of 1024 samples. Streams: 'pickup/phase',
 * 'pickup/modulation'; 'mains/wander' and 'electrodes/loss' read only.
 */
export const pickup: NoiseSource = {
  id: 'pickup',
  label: 'Mains by its paths',
  beyondContacts: true,
  create(scenario, seed) {
    const { lineHz } = scenario.mains;
    const { sampleRateHz } = scenario.converter;
    const { modulation, modulationMemoryS } = scenario.room;
    const rotations = drawPhases(seed);
    const orders = Array.from({ length: PICKUP_HARMONICS }, (_, h) => h + 1).filter(
      (order) => order * lineHz < sampleRateHz / 2,
    );
    /** The sum of all paths, by harmonic and channel, as long as the given contacts are nearly lost. */
    const phasorsWhile = (lost: (electrode: ElectrodeName) => boolean): Complex[][] =>
      orders.map((order) => sumOfPaths(pathPhasors(scenario, order, lost), rotations[order - 1]));
    const held = phasorsWhile(() => false);
    if (held.every((channels) => channels.every((phasor) => sizeOf(phasor) === 0))) return null;

    const losses = contactLosses(scenario, seed);
    const known = new Map<string, Complex[][]>();
    const frequency = lineFrequency(scenario, seed);
    const stepS = STEP_SAMPLES / sampleRateHz;
    const cornerHz = 1 / (2 * PI * modulationMemoryS);
    const wander = smoothWander(stream(seed, 'pickup/modulation'), cornerHz, stepS);
    const oscillators = orders.map(() => new Float64Array(2 * CHANNEL_COUNT));
    const twiceCos = new Float64Array(orders.length);
    const sumUv = [new Float64Array(STEP_SAMPLES), new Float64Array(STEP_SAMPLES)];
    let turns = 0; // φ/2π at the start of the next step
    let size = 1 + modulation * wander(); // at the start of the next step
    let sizeNow = size;
    let growth = 0; // per sample

    function phasorsAt(timeS: number): Complex[][] {
      if (losses.never) return held;
      const lost = electrodeNames.filter((electrode) => losses.isLost(electrode, timeS));
      const key = lost.join();
      const phasors = known.get(key) ?? phasorsWhile((electrode) => lost.includes(electrode));
      known.set(key, phasors);
      return phasors;
    }

    function startStep(timeS: number): void {
      const turnsPerSample = frequency();
      const phasors = phasorsAt(timeS);
      for (const [h, order] of orders.entries()) {
        for (let c = 0; c < CHANNEL_COUNT; c++) {
          oscillators[h][2 * c] = realPart(phasors[h][c], order * turns);
          oscillators[h][2 * c + 1] = realPart(phasors[h][c], order * (turns - turnsPerSample));
        }
        twiceCos[h] = 2 * cosineOfCycles(order * turnsPerSample);
      }
      turns += turnsPerSample * STEP_SAMPLES;
      turns -= Math.floor(turns);
      sizeNow = size;
      size = 1 + modulation * wander();
      growth = (size - sizeNow) / STEP_SAMPLES;
    }

    return {
      addUv(channelsUv, start, count) {
        for (let from = 0; from < count; ) {
          const phase = (start + from) % STEP_SAMPLES;
          if (phase === 0) startStep((start + from) / sampleRateHz);
          const length = Math.min(count - from, STEP_SAMPLES - phase);
          for (let c = 0; c < CHANNEL_COUNT; c++) {
            sumUv[c].fill(0, 0, length);
            for (let h = 0; h < orders.length; h++) addHarmonic(oscillators[h], c, twiceCos[h], sumUv[c], length);
            const out = channelsUv[c];
            for (let i = 0; i < length; i++) out[from + i] += (sizeNow + growth * (phase + i)) * sumUv[c][i];
          }
          from += length;
        }
      },
    };
  },
};

/** Draws the phase of every path, harmonic and channel, present or not, so that changing one leaves the others. */
function drawPhases(seed: string): Record<PickupPathId, Complex[]>[] {
  const draws = stream(seed, 'pickup/phase');
  const nextRotation = () => {
    const turns = nextUniform(draws);
    return { re: cosineOfCycles(turns), im: sineOfCycles(turns) };
  };
  return Array.from({ length: PICKUP_HARMONICS }, () => {
    const entries = pickupPathIds.map((path) => {
      const rotations = Array.from({ length: CHANNEL_COUNT }, nextRotation);
      return [path, SHARED.includes(path) ? rotations.map(() => rotations[0]) : rotations];
    });
    return Object.fromEntries(entries) as Record<PickupPathId, Complex[]>;
  });
}

function sumOfPaths(phasors: PathPhasors, rotations: Record<PickupPathId, Complex[]>): Complex[] {
  return [0, 1].map((channel) =>
    pickupPathIds.reduce((sum, path) => plus(sum, times(phasors[path][channel], rotations[path][channel])), {
      re: 0,
      im: 0,
    }),
  );
}

/** Re{phasor · e^(j·2π·turns)} */
function realPart({ re, im }: Complex, turns: number): number {
  return re * cosineOfCycles(turns) - im * sineOfCycles(turns);
}

function addHarmonic(state: Float64Array, channel: number, twiceCos: number, out: Float64Array, count: number): void {
  let now = state[2 * channel];
  let before = state[2 * channel + 1];
  for (let i = 0; i < count; i++) {
    out[i] += now;
    const next = twiceCos * now - before;
    before = now;
    now = next;
  }
  state[2 * channel] = now;
  state[2 * channel + 1] = before;
}

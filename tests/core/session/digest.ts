import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';

/** Hashes every bit of a session: recorded and true sweeps of both channels, flags, times. Runs in Node and browser. */
export function sessionDigest(document: object, seed: string, blockSampleCount?: number): string {
  const session = startSession(resolveScenario(document), seed, blockSampleCount);
  const hash = sha256.create();
  const update = (values: Float64Array) =>
    hash.update(new Uint8Array(values.buffer, values.byteOffset, values.byteLength));
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    for (let c = 0; c < 2; c++) {
      update(sweep.recordedUv[c]);
      update(sweep.truthUv[c]);
    }
    update(Float64Array.of(sweep.timeS, sweep.polarity, ...sweep.overRange.map(Number)));
  }
  return bytesToHex(hash.digest());
}

/** One scenario with every source, the overload, the notch and both kinds of randomness of the stimulus switched on. */
export const EVERYTHING = {
  session: { durationS: 12 },
  stimulus: { ratePerS: 23.3, jitterMs: 3 },
  eeg: { alphaUv: 5, state: 'alert' },
  muscle: { burstsPerS: 1 },
  swallow: { burstsPerS: 0.5 },
  neck: { tonicUv: 4, shortestHoldS: 1, longestHoldS: 3, burstsPerS: 0.5, clustering: 0.3 },
  brow: { burstsPerS: 0.5 },
  eyes: { muscleUv: 4, blinksPerS: 0.5, saccadesPerS: 1 },
  child: { present: true, boredomPerMin: 0.05, cryingChance: 0.2, sleepChance: 0.1, quiet: { dwellS: 2 } },
  sucking: { present: true, pauseS: 2 },
  shiver: { muscleUv: 4 },
  movement: { burstsPerS: 0.1, burstUv: 30 },
  heart: { qrsUv: 15 },
  reflex: { peakUv: 5 },
  breathing: { sizeUv: 10 },
  skin: { sweatUv: 20 },
  leadMovement: { knocksPerS: 0.2, knockUv: 20 },
  artefact: { peakUv: 5 },
  diathermy: { burstsPerS: 0.1, sparkUv: 30 },
  mains: { fundamentalUv: 4, wanderHz: 0.1 },
  electrodes: { thermalNoise: true, ipsilateral: { contactFactor: 2, lossesPerS: 0.3 }, lossS: 0.5, lossJumpUv: 40 },
  room: { bodyCurrentUa: 0.1, leadCurrentNaPerM: 1, fieldUt: 0.03, lampFieldUt: 0.02, switchingsPerS: 0.2 },
  drift: { walkUvPerRtS: 20, stepsPerS: 1, stepUv: 300 },
  amplifier: { rangeUv: 60, blockingMs: 15, currentNoiseFaPerRtHz: 100 },
  filter: { notchHz: 50, highPassOrder: 3, lowPassOrder: 5 },
  averaging: { baseline: 'pre-stimulus' },
};

import { exp } from '../elementary.ts';
import { nextGaussian, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { gazeProcess, gazeShare } from './gazeProcess.ts';
import type { ResponseKind } from './responseKind.ts';
import { type Channel, templateResponse } from './templateResponse.ts';
import { vestibularDriveDb, vestibularRateFactor, yearsAfter50 } from './vestibularDrive.ts';
import { bump, type Wave, wavesUv } from './waves.ts';

/** Ocular vestibular evoked myogenic potential: n10 and p15 under the eye on the other side, as far as the gaze is up. */
export const ocularVemp: ResponseKind = {
  id: 'ovemp',
  label: 'oVEMP',
  create(scenario, seed) {
    const gazeDegAt = gazeProcess(scenario, seed);
    return templateResponse(scenario, seed, {
      endMs: 40,
      curve(_polarity, channel) {
        const waves = ocularWaves(scenario, channel, seed);
        return (timeMs) => wavesUv(waves, timeMs);
      },
      sizeOf: ({ index }) => gazeShare(gazeDegAt(index)),
    });
  },
};

/** n10 to p15 at full gaze and 97 dB nHL, µV: model value. */
const FULL_UV = 6;
const FULL_DRIVE_DB = 15; // dB above threshold at which the response has this size, model value
const LARGEST = 3; // × that size, model value: the organ saturates
// Of one bump relative to n10–p15 of the pair: tails of neighbours overlap a little.
const SHARE_OF_BUMP = 0.505;

/**
 * The two waves at full gaze: n10 at 10.3 ms, p15 at 15.3 ms, seen by the electrode under the eye.
 *
 *     size = 6 µV · (drive/15 dB, at most 3) · strength · e^(−(r − 5)/12);  after 50 years −1 % and +0.05 ms a year
 *
 * The crossed pathway leads to the other eye; the eye on the side of the sound sees 0.35 of it, 1.2 ms later. Between
 * people the log-size has the deviation 0.5, from the stream 'patient/eye'. Model values; the delay with age lies within the
 * interval of [MA17], the decline after 50 follows [OA20]. The muscle's own activity is a source of noise, not of this.
 */
export function ocularWaves(scenario: Scenario, channel: Channel, seed: string): Wave[] {
  const driveDb = vestibularDriveDb(scenario);
  if (driveDb <= 0) return [];
  const years = yearsAfter50(scenario);
  const personal = exp(0.5 * scenario.patient.scatter * nextGaussian(stream(seed, 'patient/eye')));
  const crossed = channel === 'contralateral';
  const sizeUv =
    FULL_UV *
    Math.min(LARGEST, driveDb / FULL_DRIVE_DB) *
    scenario.vestibular.strength *
    vestibularRateFactor(scenario.stimulus.ratePerS) *
    Math.max(0.2, 1 - 0.01 * years) *
    personal *
    (crossed ? 1 : 0.35);
  const laterMs = 0.05 * years + (crossed ? 0 : 1.2);
  return [
    bump('n10', 10.3 + laterMs, 1.3, -SHARE_OF_BUMP * sizeUv),
    bump('p15', 15.3 + laterMs, 1.7, SHARE_OF_BUMP * sizeUv),
  ];
}

import { exp } from '../elementary.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';

/** A spell of steady activity. */
export interface Spell {
  lengthS: number;
  targetUv: number;
}

/** How strongly a muscle is at work, sample by sample. */
export interface ActivityLevel {
  /** Writes the level of samples [start, start + count) to `out[0 …)`; blocks follow each other without gap. */
  fill(out: Float64Array, start: number, count: number): void;
}

/**
 * Makes a level that goes from spell to spell and follows each change exponentially.
 *
 * The level moves in straight lines of 32 samples that belong to the recording, not to the block.
 *
 * @param nextSpell - called when a spell is over; it is told when that was, s   @param smoothingS - time constant, > 0
 */
export function activityLevel(
  nextSpell: (startS: number) => Spell,
  smoothingS: number,
  sampleRateHz: number,
): ActivityLevel {
  const follow = 1 - exp(-SLOW_STEP_SAMPLES / sampleRateHz / smoothingS);
  let spellEnd = 0; // sample of the recording
  let targetUv = 0;
  let levelUv = -1; // before the first spell
  let slopeUv = 0; // per sample, towards the level at the end of this step
  return {
    fill(out, start, count) {
      for (let i = 0; i < count; i++) {
        if ((start + i) % SLOW_STEP_SAMPLES === 0) {
          while (start + i >= spellEnd) {
            const spell = nextSpell(spellEnd / sampleRateHz);
            spellEnd += Math.max(SLOW_STEP_SAMPLES, Math.round(spell.lengthS * sampleRateHz));
            targetUv = spell.targetUv;
          }
          if (levelUv < 0) levelUv = targetUv;
          slopeUv = (follow * (targetUv - levelUv)) / SLOW_STEP_SAMPLES;
        }
        out[i] = levelUv;
        levelUv += slopeUv;
      }
    },
  };
}

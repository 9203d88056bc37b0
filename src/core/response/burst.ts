import { sineOfCycles } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';

// ms: electrical pulse of a click, 100 µs [IEC60645]
const CLICK_MS = 0.1;

/** Length of the sound, ms: (2·rise + plateau) cycles of a tone burst, 0.1 ms for a click. */
export function soundMs({ kind, frequencyHz, riseCycles, plateauCycles }: Scenario['stimulus']): number {
  return kind === 'click' ? CLICK_MS : ((2 * riseCycles + plateauCycles) * 1000) / frequencyHz;
}

/**
 * The tone burst itself at one time after its onset, −1 … 1: sin(2πft) under a trapezoid.
 *
 * Linear rise and fall of `riseCycles` cycles each: common practice. 0 outside of the burst.
 */
export function toneBurst({ frequencyHz, riseCycles, plateauCycles }: Scenario['stimulus'], timeMs: number): number {
  const cycles = (timeMs * frequencyHz) / 1000;
  const untilEnd = 2 * riseCycles + plateauCycles - cycles;
  if (cycles <= 0 || untilEnd <= 0) return 0;
  return Math.min(1, cycles / riseCycles, untilEnd / riseCycles) * sineOfCycles(cycles);
}

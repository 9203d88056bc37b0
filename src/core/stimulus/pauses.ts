import { action } from '../scenario/actions.ts';
import type { Scenario } from '../scenario/schema.ts';

/** A stretch without sounds, on the clock of the session: s after the first stimulus, rests and pauses included. */
export interface Pause {
  fromS: number;
  lengthS: number;
}

/**
 * Lists the pauses that the events of a scenario bring, in order.
 *
 *     length = ⌈(cost of the action + pauseS) · rate⌉ / rate
 *
 * A pause is rounded up to whole intervals, as if the beat went on unheard: a continuous tone stays in step.
 */
export function pausesOf({ events, stimulus }: Scenario): Pause[] {
  const pauses: Pause[] = [];
  for (const event of events) {
    const lengthS = (action(event.action)?.costS ?? 0) + event.pauseS;
    if (lengthS > 0) {
      pauses.push({ fromS: event.atS, lengthS: Math.ceil(lengthS * stimulus.ratePerS - 1e-9) / stimulus.ratePerS });
    }
  }
  return pauses;
}

/** Moves a time of a session without pauses to the clock of the session with them: what would come in one comes after it. */
export function withPauses(pauses: readonly Pause[], timeS: number): number {
  let movedS = timeS;
  for (const { fromS, lengthS } of pauses) {
    if (movedS < fromS - 1e-9) break;
    movedS += lengthS;
  }
  return movedS;
}

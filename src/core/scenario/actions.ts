import type { Action } from './actions/action.ts';
import { patientActions } from './actions/patientActions.ts';
import { rigActions } from './actions/rigActions.ts';

/**
 * Every action that an event may name.
 *
 * A change that stays is a set of keys like any other event's, worked out from what holds at the moment. What lasts
 * only a while (a swallow) begins and ends from one sample to the next.
 */
export const actions: readonly Action[] = [...patientActions, ...rigActions];

/** Finds an action by its id; null for 'none'. @throws {RangeError} naming the choices */
export function action(id: string): Action | null {
  if (id === 'none') return null;
  const found = actions.find((entry) => entry.id === id);
  if (found) return found;
  throw new RangeError(`action: must be none, ${actions.map((entry) => entry.id).join(', ')}, got "${id}"`);
}

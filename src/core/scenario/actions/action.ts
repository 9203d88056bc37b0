import type { actionIds } from '../actionIds.ts';
import type { Scenario } from '../schema.ts';

/** Something that somebody does while a session runs. */
export interface Action {
  id: (typeof actionIds)[number];
  /** As a button would say it. */
  label: string;
  /** What it changes, in plain words. */
  effect: string;
  /** For so long no sounds are presented, s; the patient's time goes on. */
  costS: number;
  /** After so long everything is as before, s; 0 for a change that stays. */
  lastsS: number;
  /** True if it is done to one electrode; without a target it is done to the one where it matters most. */
  targets?: true;
  /** Actions whose changes it takes back, whatever else has changed since; those last until then. */
  undoes?: readonly Action['id'][];
  /** What the scenario must have for the action to make sense, or null if all is well: 'child.present true'. */
  needs(now: Scenario): string | null;
  /**
   * The keys that change, by their full path.
   *
   * @param now - what holds just before, but for what lasts a while   @param target - an electrode, or none
   */
  apply(now: Scenario, target: ActionTarget): Record<string, unknown>;
}

/** What an action can be done to. */
export type ActionTarget = Scenario['events'][number]['target'];

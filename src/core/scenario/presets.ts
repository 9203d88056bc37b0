import { bedsidePresets } from './presets/bedside.ts';
import { firstPresets } from './presets/first.ts';
import { puzzlePresets } from './presets/puzzles.ts';
import { responsePresets } from './presets/responses.ts';

/** Patients of our own invention in groups, as lists show them. Names and stories are fictional; sizes are model values. */
export const presetGroups = [
  { title: 'To begin with', presets: firstPresets },
  { title: 'The working day', presets: bedsidePresets },
  { title: 'Other responses', presets: responsePresets },
  { title: 'What averaging does not repair', presets: puzzlePresets },
] as const;

/** All of them. Each is a partial scenario; what is not said has the default of its response or of the schema. */
export const presets = [...firstPresets, ...bedsidePresets, ...responsePresets, ...puzzlePresets] as const;

/** The preset that a newcomer sees first. */
export const DEFAULT_PRESET = 'jaw-clencher';

/** Finds a preset by its id. @throws {RangeError} naming the choices */
export function preset(id: string): object {
  const found = presets.find((entry) => entry.id === id);
  if (found) return found;
  throw new RangeError(`unknown scenario "${id}"; one of ${presets.map((entry) => entry.id).join(', ')}`);
}

import { Type } from '@sinclair/typebox';
import { actionIds } from './actionIds.ts';
import { choice, quantity } from './quantity.ts';

/** What may not change while a session runs: it would change which sweeps there are. */
const FIXED = [
  ...['version', 'id', 'title', 'story', 'events', 'session', 'window', 'converter', 'averaging', 'measures', 'lanes'],
  ...['stimulus.ratePerS', 'stimulus.jitterMs', 'stimulus.polarity', 'stimulus.sweepsPerPolarityBlock'],
  ...['stimulus.trainS', 'stimulus.restS', 'response.kind'],
];

/** Schema of the events of a scenario: what somebody does during the session. */
export const eventsSchema = Type.Array(
  Type.Object(
    {
      atS: quantity('s', 0, 0, 7200, 'time after the first stimulus at which it happens; rests and pauses count'),
      note: Type.String({ default: '', description: 'what was done, in words' }),
      action: choice('none', ['none', ...actionIds], 'what is done, by name; "scenarios --actions" lists them'),
      target: choice(
        'none',
        ['none', 'common', 'ipsilateral', 'contralateral', 'ground'],
        'the electrode to which it is done; none: the one where it matters most',
      ),
      pauseS: quantity('s', 0, 0, 3600, 'for so long no sounds are presented, on top of what the action costs'),
      set: Type.Record(Type.String(), Type.Unknown(), {
        default: {},
        description: 'the keys that change, by their full path, with their new values; laid over those of the action',
      }),
    },
    { additionalProperties: false },
  ),
  {
    default: [],
    maxItems: 200,
    description: 'what happens while the session runs, in order of time; a run replays from scenario, seed and these',
  },
);

/** The part of a path that may not change during a session, or null if all of it may. */
export function fixedPart(path: string): string | null {
  return FIXED.find((fixed) => path === fixed || path.startsWith(`${fixed}.`)) ?? null;
}

import { Type } from '@sinclair/typebox';
import { averagingStrategies } from '../../averaging/index.ts';
import { choice } from '../quantity.ts';

/** Schema of the lanes of a scenario: who races. */
export const lanesSchema = Type.Array(
  Type.Object(
    {
      strategy: choice(
        'plain-mean',
        averagingStrategies.map(({ id }) => id),
        'which strategy',
      ),
      name: Type.String({ default: '', description: 'what to call it; by default the strategy' }),
      flagAware: Type.Boolean({
        default: false,
        description: 'flagged sweeps never reach it, even where others get them',
      }),
      parameters: Type.Record(Type.String(), Type.Unknown(), {
        default: {},
        description: 'tunables that differ from those under averaging',
      }),
    },
    { additionalProperties: false },
  ),
  {
    default: [],
    maxItems: 40,
    description:
      'the strategies that race, the same one more than once if its tunables differ; none = the standard four',
  },
);

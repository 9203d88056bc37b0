import { Type } from '@sinclair/typebox';
import { choice, quantity, section } from '../quantity.ts';

/** Who lies there, as far as it changes what the ear and the brain answer. */
export const patient = section('who is recorded, as far as it changes the response', {
  ageYears: quantity(
    'year',
    25,
    3,
    100,
    'age; the model adult is 25, and a child from 3 on answers like that adult; younger: infant',
  ),
  sex: choice('unstated', ['unstated', 'female', 'male'], 'unstated and male are the model adult'),
  temperatureC: quantity('°C', 37, 20, 42, 'body temperature: the brainstem answers later in the cold'),
  infant: section('a baby instead of a child or adult; age and sex then do not count', {
    present: Type.Boolean({ default: false, description: 'whether the patient is an infant' }),
    weeksPastTerm: quantity('week', 0, 0, 156, 'age counted from the day of a full-term birth'),
  }),
  scatter: quantity('×', 0, 0, 1, 'how much people differ: 0 everyone is the model adult, 1 the full spread'),
});

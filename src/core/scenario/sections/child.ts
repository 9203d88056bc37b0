import { Type } from '@sinclair/typebox';
import { choice, quantity, section } from '../quantity.ts';

const behaviourState = (name: string, dwellS: number, muscleUv: number) =>
  section(`${name} spells of the child`, {
    dwellS: quantity('s', dwellS, 0.1, 600, 'mean length of a spell'),
    muscleUv: quantity('µV rms', muscleUv, 0, 500, 'median muscle activity during a spell'),
  });

export const child = section('a patient who will not lie still: spells of behaviour, one after the other', {
  present: Type.Boolean({ default: false, description: 'whether spells of behaviour are simulated' }),
  begins: choice('awake', ['awake', 'asleep'], 'state at the start: awake and quiet, or asleep'),
  quiet: behaviourState('quiet', 25, 1),
  restless: behaviourState('restless', 8, 10),
  moving: behaviourState('moving', 3, 60),
  crying: behaviourState('crying', 12, 110),
  asleep: behaviourState('sleeping', 120, 1),
  arousal: behaviourState('short waking', 1, 30),
  spellLogSd: quantity('ln', 0.3, 0, 2, 'log-normal scatter of the activity between spells'),
  boredomPerMin: quantity('1/min', 0, 0, 2, 'quiet turns to restless more often: growth per minute, usual 0.05'),
  cryingChance: quantity('', 0, 0, 1, 'chance that a moving spell ends in crying'),
  sleepChance: quantity('', 0, 0, 1, 'chance that a quiet spell ends in sleep'),
  wakingChance: quantity('', 0, 0, 1, 'chance that a short waking out of sleep lasts: awake and quiet'),
});

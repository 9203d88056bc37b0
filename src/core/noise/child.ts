import { nextExponential, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { activityLevel } from './activityLevel.ts';
import { relativeGain } from './electrodeSite.ts';
import { muscleCarriers } from './muscleBursts.ts';
import type { NoiseSource } from './noiseSource.ts';
import { tonicMuscle } from './tonicMuscle.ts';

type State = 'quiet' | 'restless' | 'moving' | 'crying' | 'asleep' | 'arousal';

// Chance that a spell turns to restless or to quiet; what is left of 1 turns to moving. Model values; crying: our choice.
const JUMPS = {
  quiet: { restless: 0.7, quiet: 0 },
  restless: { restless: 0, quiet: 0.7 },
  moving: { restless: 0.6, quiet: 0.4 },
  crying: { restless: 0.7, quiet: 0.3 },
};
const SMOOTHING_S = 0.05; // how fast muscle activity follows a change of state

/**
 * A patient who will not lie still: muscle activity that follows spells of behaviour.
 *
 * Semi-Markov: the length of a spell is gamma distributed (shape 2) about its mean, then the state jumps by fixed
 * chances; each spell draws its activity log-normally about the state's median. Awake there are quiet, restless, moving
 * and crying spells, in sleep long spells with short wakings between. Boredom makes the rate at which quiet turns to
 * restless grow by a share per minute:
 *
 *     1/dwell = (0.7·(1 + b·t) + 0.3)/dwellS,   P(restless) = 0.7·(1 + b·t)/(0.7·(1 + b·t) + 0.3)
 *
 * The activity is muscle noise with the spectrum of the scenario's muscle section. Streams: 'child/spells',
 * 'child/turns' (crying, sleep, waking), 'child/carrier'.
 */
export const child: NoiseSource = {
  id: 'child',
  label: 'Restlessness',
  create(scenario, seed) {
    if (!scenario.child.present) return null;
    const { sampleRateHz } = scenario.converter;
    const gain = relativeGain('clench', scenario.montage.site);
    return tonicMuscle(
      activityLevel(childSpells(scenario.child, seed), SMOOTHING_S, sampleRateHz),
      muscleCarriers('child', scenario.muscle, 2, sampleRateHz, seed),
      [gain, gain * scenario.muscle.contralateralGain],
    );
  },
};

/**
 * Says how long a quiet spell lasts on average if it begins now, s: boredom makes it shorter.
 *
 * @example meanQuietS({ ...resolveScenario({}).child, boredomPerMin: 0.05 }, 600) // 25/(0.7·1.5 + 0.3) = 18.5
 */
export function meanQuietS({ quiet, boredomPerMin }: Scenario['child'], startS: number): number {
  return quiet.dwellS / quietHaste(1 + (boredomPerMin * startS) / 60);
}

/** How much faster than at first a quiet spell ends. */
function quietHaste(bored: number): number {
  return JUMPS.quiet.restless * bored + (1 - JUMPS.quiet.restless);
}

/** Makes the spells of behaviour, one after the other; each is told when it begins, s. */
export function childSpells(child: Scenario['child'], seed: string) {
  const draws = stream(seed, 'child/spells');
  const turnDraws = stream(seed, 'child/turns');
  let state: State = child.begins === 'asleep' ? 'asleep' : 'quiet';
  return (startS: number) => {
    const { dwellS, muscleUv } = child[state];
    const bored = state === 'quiet' ? 1 + (child.boredomPerMin * startS) / 60 : 1;
    const hurry = state === 'quiet' ? quietHaste(bored) : 1;
    const lengthS = (dwellS / hurry / 2) * (nextExponential(draws) + nextExponential(draws));
    const targetUv = nextLogNormal(draws, muscleUv, child.spellLogSd);
    const now = state;
    state = nextState(state, nextUniform(draws), nextUniform(turnDraws), bored / hurry);
    return { lengthS, targetUv, state: now };
  };

  function nextState(from: State, chance: number, turn: number, quietHaste: number): State {
    if (from === 'asleep') return 'arousal';
    if (from === 'arousal') return turn < child.wakingChance ? 'quiet' : 'asleep';
    if (from === 'moving' && turn < child.cryingChance) return 'crying';
    if (from === 'quiet' && turn < child.sleepChance) return 'asleep';
    const { quiet, restless } = JUMPS[from];
    const restlessNow = from === 'quiet' ? restless * quietHaste : restless;
    if (chance < quiet) return 'quiet';
    return chance < quiet + restlessNow ? 'restless' : 'moving';
  }
}

import { childSpells } from '../noise/child.ts';
import { leadMovement } from '../noise/leadMovement.ts';
import { movement } from '../noise/movement.ts';
import { CHANNEL_COUNT } from '../noise/noiseSource.ts';
import { SLOW_STEP_SAMPLES } from '../noise/slowLevels.ts';
import { gazeProcess } from '../response/gazeProcess.ts';
import type { Stage } from '../scenario/resolve.ts';
import type { Scenario } from '../scenario/schema.ts';
import { makeStaged } from './staged.ts';

/** What sensors beside the electrodes say of the patient during one sweep. Missing without such a sensor. */
export interface Behaviour {
  /** Upward gaze, °. */
  gazeDeg?: number;
  /** The head moved, or a lead was knocked. */
  moved?: boolean;
}

/** Reads the sensors for one sweep: its number, its first sample, the sample after its last. Sweeps come in order. */
export type BehaviourSensors = (index: number, from: number, to: number) => Behaviour;

interface Sensors {
  gazeDegAt: ((index: number) => number) | null;
  movedWithin: ((from: number, to: number) => boolean) | null;
}

/**
 * Makes the sensors of a session: the gaze where gaze matters, a motion sensor where something can move.
 *
 * They are exact, and they say when the patient moves, never how large the noise is: what a watchful clinician could
 * see. They draw from the same named streams as the patient, so they watch this very patient and disturb nothing.
 */
export function behaviourSensors(
  stages: readonly Stage[],
  sampleOf: (timeS: number) => number,
  seed: string,
): BehaviourSensors {
  const spans = makeStaged(
    stages,
    sampleOf,
    (scenario): Sensors => ({
      gazeDegAt: scenario.response.kind === 'ovemp' ? gazeProcess(scenario, seed) : null,
      movedWithin: motionSensor(scenario, seed),
    }),
  );
  return (index, from, to) => {
    let behaviour: Behaviour = {};
    for (const { thing, from: first, to: end } of spans) {
      const gazeDeg = thing.gazeDegAt?.(index);
      const moved = thing.movedWithin?.(from, to);
      if (to <= first || from >= end) continue;
      behaviour = { ...(gazeDeg === undefined ? {} : { gazeDeg }), ...(moved === undefined ? {} : { moved }) };
    }
    return behaviour;
  };
}

/** Tells whether anything moved within a stretch of samples; null where nothing can. Stretches come in order. */
function motionSensor(scenario: Scenario, seed: string): Sensors['movedWithin'] {
  const sources = [movement.create(scenario, seed), leadMovement.create(scenario, seed)].filter((one) => one !== null);
  const child = scenario.child.present ? childSensor(scenario, seed) : null;
  if (sources.length === 0 && !child) return null;
  let played = 0;
  let scratch = Array.from({ length: CHANNEL_COUNT }, () => new Float64Array(0));
  return (from, to) => {
    const count = sources.length > 0 ? to - played : 0; // without a source nothing is played, and nothing to be kept
    if (scratch[0].length < count) scratch = scratch.map(() => new Float64Array(count));
    let moved = child?.(from, to) ?? false;
    if (count > 0) {
      for (const channel of scratch) channel.fill(0, 0, count);
      for (const source of sources) source.addUv(scratch, played, count);
      // Such a source is exactly 0 unless something moves.
      const first = Math.max(0, from - played);
      if (scratch.some((channel) => channel.subarray(first, count).some((value) => value !== 0))) moved = true;
      played = to;
    }
    return moved;
  };
}

function childSensor(scenario: Scenario, seed: string): (from: number, to: number) => boolean {
  const { sampleRateHz } = scenario.converter;
  const nextSpell = childSpells(scenario.child, seed);
  let spells: { from: number; to: number; lively: boolean }[] = [];
  let known = 0; // sample up to which spells are known, counted as the noise itself counts
  return (from, to) => {
    while (known < to) {
      const { lengthS, state } = nextSpell(known / sampleRateHz);
      const lively = state === 'moving' || state === 'crying' || state === 'arousal';
      const end = known + Math.max(SLOW_STEP_SAMPLES, Math.round(lengthS * sampleRateHz));
      spells.push({ from: known, to: end, lively });
      known = end;
    }
    spells = spells.filter((spell) => spell.to > from);
    return spells.some((spell) => spell.lively && spell.from < to);
  };
}

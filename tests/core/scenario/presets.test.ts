import { describe, expect, it } from 'vitest';
import { DEFAULT_PRESET, preset, presets } from '../../../src/core/scenario/presets.ts';
import { resolveScenario, scenarioHash } from '../../../src/core/scenario/resolve.ts';

const asked = [
  // id, what makes it that patient
  ['quiet-sleeper', (s: Resolved) => s.muscle.burstsPerS === 0 && !s.child.present && s.drift.stepsPerS === 0],
  ['restless-child', (s: Resolved) => s.child.present],
  ['jaw-clencher', (s: Resolved) => s.muscle.burstsPerS > 0],
  ['locked-line', (s: Resolved) => Number.isInteger(s.mains.lineHz / s.stimulus.ratePerS) && s.mains.fundamentalUv > 1],
  ['drifting-electrode', (s: Resolved) => s.drift.walkUvPerRtS > 10 && s.drift.stepsPerS > 0],
  ['overloaded-amplifier', (s: Resolved) => s.drift.stepUv > s.amplifier.rangeUv],
  ['graded-muscle', (s: Resolved) => s.child.quiet.muscleUv < s.child.restless.muscleUv && s.child.present],
  ['silent-ear', (s: Resolved) => s.response.kind === 'none'],
] as const;
type Resolved = ReturnType<typeof resolveScenario>;

describe('presets', () => {
  it.each(asked)('%s is there and is what it says', (id, isIt) => {
    expect(isIt(resolveScenario(preset(id)))).toBe(true);
  });

  it.each(presets.map(({ id }) => [id]))('%s resolves, with a title and a story', (id) => {
    const scenario = resolveScenario(preset(id));
    expect(scenario.id).toBe(id);
    expect(scenario.title.length).toBeGreaterThan(3);
    expect(scenario.title.length).toBeLessThan(60);
    expect(scenario.story).toMatch(/[.!?]$/);
    expect(scenario.converter.guardMs, 'the guard outlasts the recovery tail').toBeGreaterThanOrEqual(
      3 * scenario.amplifier.recoveryMs,
    );
  });

  it('has its own id, title and hash each', () => {
    for (const list of [
      presets.map(({ id }) => id),
      presets.map(({ title }) => title),
      presets.map(({ id }) => scenarioHash(resolveScenario(preset(id)))),
    ]) {
      expect(new Set<string>(list).size).toBe(presets.length);
    }
  });

  it('who is named with an age in the story has that age, and who sleeps has a sleeping EEG', () => {
    let named = 0;
    for (const { id, story } of presets) {
      const { patient, eeg } = resolveScenario(preset(id));
      const [, age, weeks] = /^[A-Z]\w+, (\d+)(?:,| years)? ?(weeks)?/.exec(story) ?? [];
      if (age === undefined) continue;
      named++;
      if (weeks) expect(patient.infant, id).toEqual({ present: true, weeksPastTerm: Number(age) });
      else expect([patient.infant.present, patient.ageYears], id).toEqual([false, Number(age)]);
      if (!weeks && Number(age) >= 18) expect(patient.sex, id).not.toBe('unstated');
      if (story.includes('asleep')) expect(eeg.state, id).toBe(weeks ? 'infant-asleep' : 'deep-sleep');
    }
    expect(named).toBe(20);
  });

  it('opens with one that exists', () => {
    expect(() => preset(DEFAULT_PRESET)).not.toThrow();
  });

  it('names the choices for an unknown id', () => {
    expect(() => preset('nobody')).toThrow(/^unknown scenario "nobody"; one of quiet-sleeper, restless-child, /);
    expect(() => preset('toString')).toThrow(RangeError);
  });
});

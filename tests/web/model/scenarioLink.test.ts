import { describe, expect, it } from 'vitest';
import { preset, presets } from '../../../src/core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../../../src/core/scenario/resolve.ts';
import { readScenarioLink, scenarioLink } from '../../../src/web/model/scenarioLink.ts';

describe('scenarioLink', () => {
  it.each(presets.map(({ id }) => id))('brings back %s with its seed', (id) => {
    const { document, seed } = readScenarioLink(`#${scenarioLink(preset(id), 'a & b')}`);
    expect(resolveScenario(document)).toEqual(resolveScenario(preset(id)));
    expect(seed).toBe('a & b');
  });

  it('names only what was changed', () => {
    const changed = withOverrides(preset('quiet-sleeper'), ['stimulus.ratePerS=31', 'mains.harmonicRatios=[1,0.5]']);
    const link = scenarioLink(changed, '7');
    expect(new URLSearchParams(link).getAll('set')).toEqual(['stimulus.ratePerS=31', 'mains.harmonicRatios=[1,0.5]']);
    expect(resolveScenario(readScenarioLink(link).document)).toEqual(resolveScenario(changed));
  });

  it('brings back a patient who is no preset', () => {
    const own = { id: 'mine', title: 'Mine = own', story: 'a=b, "c"', stimulus: { ratePerS: 19.7 } };
    expect(resolveScenario(readScenarioLink(scenarioLink(own, '1')).document)).toEqual(resolveScenario(own));
  });

  const refused = [
    // link, what the message says, why
    ['#scenario=nobody', 'unknown scenario "nobody"', 'a preset that does not exist'],
    ['#set=stimulus.rate=3', 'stimulus.rate: unknown key', 'a key that does not exist'],
    ['#set=stimulus.ratePerS=1e9', 'stimulus.ratePerS: must be', 'a value out of bounds'],
    ['#sweeps=-3', 'sweeps: must be a whole number from 0', 'a place before the beginning'],
    ['#sweeps=10&marks=V', 'marks: must be name:ms', 'a mark without a latency'],
    ['#sweeps=10&committed=11', 'committed: must be at most sweeps (10)', 'marks on an average that is to come'],
    ['#set=nonsense', 'override: must be path=value', 'no assignment'],
  ] as const;
  it.each(refused)('%s is refused: %s (%s)', (link, message) => {
    expect(() => readScenarioLink(link)).toThrow(message);
  });
});

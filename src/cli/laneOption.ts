import { checkedParameters } from '../core/averaging/checkedParameters.ts';
import { averagingStrategies } from '../core/averaging/index.ts';
import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { type LaneSetting, laneOf, racingLanesOf } from '../core/session/lanes.ts';
import { UsageError } from './arguments.ts';

/**
 * Reads the lanes of a command line: those of `--lane`, or those of the scenario with every outside strategy added.
 *
 * @param texts - such as `block-weighting blockLength=16 as short blocks`
 * @throws {UsageError} naming option, rule and value
 */
export function lanesFrom(
  texts: readonly string[],
  scenario: Scenario,
  outside: readonly AveragingStrategy[],
): LaneSetting[] {
  if (texts.length > 0) {
    const lanes = texts.map((text) => laneFrom(text, scenario, outside));
    for (const [k, lane] of lanes.entries()) {
      const before = lanes.slice(0, k);
      if (lane.name !== undefined && before.some(({ name }) => name === lane.name)) {
        throw new UsageError(`--lane: names must differ, got "${lane.name}" twice`);
      }
      if (before.some((other) => JSON.stringify(other) === JSON.stringify(lane))) {
        throw new UsageError(`--lane: lanes must differ in strategy, tunables or name, got "${texts[k]}" twice`);
      }
    }
    return lanes;
  }
  const usual = racingLanesOf(scenario);
  return [...usual, ...outside.map((strategy) => outsideLane(strategy, {}, strategy.id))];
}

function laneFrom(text: string, scenario: Scenario, outside: readonly AveragingStrategy[]): LaneSetting {
  const [, body, name] = /^(.*?)(?:\sas\s+(.+?))?\s*$/s.exec(text) as RegExpExecArray;
  const [id = '', ...words] = body.trim().split(/\s+/);
  const known = [...outside, ...averagingStrategies];
  const strategy = known.find((one) => one.id === id);
  if (!strategy) {
    throw new UsageError(`--lane: must begin with one of ${known.map((one) => one.id).join(', ')}, got "${id}"`);
  }
  const tunables = new Map<string, string>();
  for (const word of words) {
    const [, key, value] = /^([^=]+)=(.+)$/.exec(word) ?? [];
    if (key === undefined) throw new UsageError(`--lane: tunables must be key=value, got "${word}"`);
    if (tunables.has(key)) throw new UsageError(`--lane ${id}: ${key} must be given once, got "${word}" as well`);
    tunables.set(key, value);
  }
  const flagText = tunables.get('flagAware') ?? 'false';
  if (flagText !== 'true' && flagText !== 'false') {
    throw new UsageError(`--lane: flagAware must be true or false, got "${flagText}"`);
  }
  const flagAware = flagText === 'true';
  tunables.delete('flagAware');
  // From entries, so that a key such as __proto__ is a key like any other and is refused as unknown.
  const given = Object.fromEntries([...tunables].map(([key, value]) => [key, Number(value)]));
  const place = `--lane ${id}`;
  const setting = outside.includes(strategy) ? outsideLane(strategy, given, place) : laneOf(scenario, id, given, place);
  return { ...setting, ...(name ? { name } : {}), ...(flagAware ? { flagAware } : {}) };
}

function outsideLane(strategy: AveragingStrategy, given: Record<string, number>, place: string): LaneSetting {
  return { strategy: strategy.id, parameters: checkedParameters(strategy, given, place) };
}

/** A lane as a table shows it: its name, and where that does not tell them apart the tunables that differ. */
export function laneTitles(lanes: readonly LaneSetting[], names: readonly string[]): string[] {
  return lanes.map((lane, k) => {
    const twins = lanes.filter((_, j) => j !== k && names[j] === names[k]);
    const different = Object.entries(lane.parameters).filter(([key, value]) =>
      twins.some((twin) => twin.parameters[key] !== value),
    );
    return [names[k], ...different.map(([key, value]) => `${key}=${value}`)].join(' ');
  });
}

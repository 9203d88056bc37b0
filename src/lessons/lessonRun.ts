import { preset } from '../core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../core/scenario/resolve.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { type LaneSetting, laneOf, STANDARD_LANES } from '../core/session/lanes.ts';
import type { Lesson, NumberSetting, Run, Setting } from './schema.ts';

/** The learner's settings by id: a number, or the id of the option chosen. */
export type Settings = Readonly<Record<string, number | string>>;

/** A lane of a run, under the name by which figures know it. */
export interface NamedLane extends LaneSetting {
  id: string;
}

/** The partial scenario of a run: the lesson's patient, the run's changes, then the settings that the run takes. */
export function documentOf(lesson: Lesson, run: Run, settings: Settings): object {
  const base = typeof lesson.scenario === 'string' ? preset(lesson.scenario) : lesson.scenario;
  const mains = (base as { mains?: { lineHz?: unknown } }).mains;
  const assignments = mains?.lineHz === undefined ? [`mains.lineHz=${lesson.lineHz}`] : [];
  for (const [path, value] of Object.entries(run.change ?? {})) assignments.push(`${path}=${JSON.stringify(value)}`);
  for (const id of run.settings) {
    const setting = settingOf(lesson, id);
    if (setting.path) assignments.push(`${setting.path}=${JSON.stringify(scenarioValueOf(setting, settings[id]))}`);
  }
  return withOverrides(base, assignments);
}

/** The complete scenario of a run. @throws {ScenarioError} if the pieces do not make one */
export function scenarioOf(lesson: Lesson, run: Run, settings: Settings): Scenario {
  return resolveScenario(documentOf(lesson, run, settings));
}

/** The lanes of a run: its strategies as the scenario sets them, then those that the run adds by varying one. */
export function namedLanesOf(run: Run, scenario: Scenario): NamedLane[] {
  const { vary, strategies = STANDARD_LANES } = run;
  const lanes = strategies.map((id) => ({ ...laneOf(scenario, id), id }));
  if (!vary) return lanes;
  const { parameters } = laneOf(scenario, vary.strategy);
  return [
    ...lanes,
    ...vary.values.map((value) => ({
      id: `${vary.strategy}@${value}`,
      strategy: vary.strategy,
      parameters: { ...parameters, [vary.parameter]: value },
    })),
  ];
}

/** A setting of the lesson. @throws {RangeError} if there is none of that id */
export function settingOf(lesson: Lesson, id: string): Setting {
  const setting = lesson.settings.find((entry) => entry.id === id);
  if (!setting) throw new RangeError(`settingOf: lesson ${lesson.id} has no setting of that name, got ${id}`);
  return setting;
}

/** What a scenario gets for a value of a setting: the number, or the value of the option. */
export function scenarioValueOf(setting: Setting, value: number | string): unknown {
  if (setting.kind === 'number') return value;
  return setting.options.find(({ id }) => id === value)?.value ?? value;
}

/** The lane that a figure means: its own name, or the one that a setting names. */
export function laneIdOf(lane: string, settings: Settings): string {
  return lane.startsWith('setting:') ? String(settings[lane.slice('setting:'.length)]) : lane;
}

/** The rule that a value of a setting breaks, as `text must be …`; null if the value is allowed. */
export function settingRule(setting: Setting, value: unknown): string | null {
  if (setting.kind === 'number') return isWithin(setting, value) ? null : boundsInWords(setting);
  const choices = setting.options.map(({ id }) => id);
  return choices.includes(value as string) ? null : `must be one of ${choices.join(', ')}`;
}

/** Refuses settings that the lesson does not allow. @throws {RangeError} naming lesson, setting, bounds and value */
export function checkLearnerSettings(lesson: Lesson, settings: Settings): void {
  for (const id of Object.keys(settings)) settingOf(lesson, id);
  for (const setting of lesson.settings) {
    const value = Object.hasOwn(settings, setting.id) ? settings[setting.id] : undefined;
    const rule = settingRule(setting, value);
    if (rule !== null) throw new RangeError(`${lesson.id}: ${setting.id} ${rule}, got ${value}`);
  }
}

/** The settings with which every learner begins. */
export function startSettings(lesson: Lesson): Record<string, number | string> {
  return Object.fromEntries(lesson.settings.map(({ id, start }) => [id, start]));
}

function isWithin({ minimum, maximum }: NumberSetting, value: unknown): boolean {
  return typeof value === 'number' && value >= minimum && value <= maximum;
}

function boundsInWords({ minimum, maximum, unit }: NumberSetting): string {
  return `must be from ${minimum} to ${maximum} ${unit}`.trim();
}

/** Seed of the patient on the bench: everybody sees the same one. */
export const BENCH_SEED = 'bench';

/** Seed of hidden patient number `replicate`; never the seed of the bench. */
export function hiddenSeed(lesson: Lesson, attemptSeed: string, replicate: number): string {
  return `${lesson.id}/hidden/${lesson.hidden.seeds === 'shared' ? 'shared' : attemptSeed}/${replicate}`;
}

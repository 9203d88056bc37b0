import type { TSchema } from '@sinclair/typebox';
import { preset } from '../core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../core/scenario/resolve.ts';
import { type Scenario, scenarioSchema } from '../core/scenario/schema.ts';
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
  const { vary = [], strategies = STANDARD_LANES } = run;
  const lanes = strategies.map((id) => ({ ...laneOf(scenario, id), id }));
  const varied = vary.flatMap(({ strategy, parameter, values }) => {
    const { parameters } = laneOf(scenario, strategy);
    return values.map((value) => ({
      id: `${strategy}@${value}`,
      strategy,
      parameters: { ...parameters, [parameter]: value },
    }));
  });
  return [...lanes, ...varied];
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
  if (setting.kind === 'number') return isAllowed(setting, value) ? null : boundsInWords(setting);
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

/** The schema of a scenario's key; undefined if there is none. */
export function scenarioKey(path: string): TSchema | undefined {
  let schema: TSchema | undefined = scenarioSchema;
  for (const key of path.split('.')) {
    schema = Object.hasOwn(schema?.properties ?? {}, key) ? schema?.properties[key] : undefined;
  }
  return schema;
}

/** Whether a setting takes only whole numbers: a count of the scenario. */
export function isWhole({ path }: NumberSetting): boolean {
  return scenarioKey(path)?.type === 'integer';
}

function isAllowed(setting: NumberSetting, value: unknown): boolean {
  const { minimum, maximum } = setting;
  if (!(typeof value === 'number' && value >= minimum && value <= maximum)) return false;
  return Number.isInteger(value) || !isWhole(setting);
}

function boundsInWords(setting: NumberSetting): string {
  const { minimum, maximum, unit } = setting;
  return `must be ${isWhole(setting) ? 'a whole number ' : ''}from ${minimum} to ${maximum} ${unit}`.trim();
}

/** Seed of the patient on the bench: everybody sees the same one. */
export const BENCH_SEED = 'bench';

/** Seed of hidden patient number `replicate`; never the seed of the bench. */
export function hiddenSeed(lesson: Lesson, attemptSeed: string, replicate: number): string {
  return `${lesson.id}/hidden/${lesson.hidden.seeds === 'shared' ? 'shared' : attemptSeed}/${replicate}`;
}

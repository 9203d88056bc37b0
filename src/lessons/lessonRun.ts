import type { TSchema } from '@sinclair/typebox';
import { nextUniform, stream } from '../core/random/stream.ts';
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

/**
 * The partial scenario of a run: the lesson's patient, the run's case and changes, then the settings that it takes.
 *
 * @param attemptSeed - decides which case an unlabelled patient has; of no effect in other runs
 */
export function documentOf(lesson: Lesson, run: Run, settings: Settings, attemptSeed = ''): object {
  const base = typeof lesson.scenario === 'string' ? preset(lesson.scenario) : lesson.scenario;
  const mains = (base as { mains?: { lineHz?: unknown } }).mains;
  const assignments = mains?.lineHz === undefined ? [`mains.lineHz=${lesson.lineHz}`] : [];
  const changes: Readonly<Record<string, unknown>>[] = [
    caseOf(lesson, run, attemptSeed)?.change ?? {},
    run.change ?? {},
  ];
  for (const id of run.settings) changes.push(changeOf(settingOf(lesson, id), settings[id]));
  for (const change of changes) {
    for (const [path, value] of Object.entries(change)) assignments.push(`${path}=${JSON.stringify(value)}`);
  }
  return withOverrides(base, assignments);
}

/** The complete scenario of a run. @throws {ScenarioError} if the pieces do not make one */
export function scenarioOf(lesson: Lesson, run: Run, settings: Settings, attemptSeed = ''): Scenario {
  return resolveScenario(documentOf(lesson, run, settings, attemptSeed));
}

/** What a value of a setting changes in the scenario: path and value; nothing for a lane or a diagnosis. */
export function changeOf(setting: Setting, value: number | string): Readonly<Record<string, unknown>> {
  if (setting.path) return { [setting.path]: scenarioValueOf(setting, value) };
  return (setting.kind === 'choice' && setting.options.find(({ id }) => id === value)?.change) || {};
}

/** Whether a setting's options are lanes: a choice that changes nothing in the scenario and names no case. */
export function choosesLane(setting: Setting): setting is Extract<Setting, { kind: 'choice' }> {
  if (setting.kind !== 'choice') return false;
  return setting.path === undefined && setting.diagnosisOf === undefined && !setting.options.some((o) => o.change);
}

/**
 * The case of an unlabelled patient: the cases of the lesson are shuffled for every attempt.
 *
 * @returns undefined for a run without a case
 */
export function caseOf(lesson: Lesson, run: Run, attemptSeed = '') {
  if (run.case === undefined || !lesson.cases) return undefined;
  const random = stream(`${lesson.id}/cases/${lesson.hidden.seeds === 'shared' ? 'shared' : attemptSeed}`, 'order');
  const shuffled = lesson.cases.map((entry) => ({ entry, at: nextUniform(random) })).sort((a, b) => a.at - b.at);
  return shuffled[run.case - 1]?.entry;
}

/** A run of the lesson. @throws {RangeError} if there is none of that id */
export function runOf(lesson: Lesson, id: string): Run {
  const run = lesson.runs.find((entry) => entry.id === id);
  if (!run) throw new RangeError(`runOf: lesson ${lesson.id} has no run of that name, got ${id}`);
  return run;
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
function scenarioValueOf(setting: Setting, value: number | string): unknown {
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
  return path !== undefined && scenarioKey(path)?.type === 'integer';
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

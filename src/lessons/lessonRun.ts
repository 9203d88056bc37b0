import { preset } from '../core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../core/scenario/resolve.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { type LaneSetting, lanesOf } from '../core/session/lanes.ts';
import type { Lesson, Run } from './schema.ts';

/** The learner's settings: a number for each setting of the lesson, by its id. */
export type Settings = Readonly<Record<string, number>>;

/** A lane of a run, under the name by which figures know it. */
export interface NamedLane extends LaneSetting {
  id: string;
}

/** The partial scenario of a run: the lesson's patient, the run's changes, then the settings that the run takes. */
export function documentOf(lesson: Lesson, run: Run, settings: Settings): object {
  const base = typeof lesson.scenario === 'string' ? preset(lesson.scenario) : lesson.scenario;
  const assignments = Object.entries(run.change ?? {}).map(([path, value]) => `${path}=${JSON.stringify(value)}`);
  for (const id of run.settings) {
    const { path } = settingOf(lesson, id);
    assignments.push(`${path}=${settings[id]}`);
  }
  return withOverrides(base, assignments);
}

/** The complete scenario of a run. @throws {ScenarioError} if the pieces do not make one */
export function scenarioOf(lesson: Lesson, run: Run, settings: Settings): Scenario {
  return resolveScenario(documentOf(lesson, run, settings));
}

/** The lanes of a run: every strategy as the scenario sets it, then those that the run adds by varying one. */
export function namedLanesOf(run: Run, scenario: Scenario): NamedLane[] {
  const lanes = lanesOf(scenario).map((lane) => ({ ...lane, id: lane.strategy }));
  const { vary } = run;
  if (!vary) return lanes;
  const varied = lanes.find(({ strategy }) => strategy === vary.strategy);
  const parameters = varied?.parameters ?? {};
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
export function settingOf(lesson: Lesson, id: string) {
  const setting = lesson.settings.find((entry) => entry.id === id);
  if (!setting) throw new RangeError(`settingOf: lesson ${lesson.id} has no setting of that name, got ${id}`);
  return setting;
}

/** Refuses settings that the lesson does not allow. @throws {RangeError} naming lesson, setting, bounds and value */
export function checkLearnerSettings(lesson: Lesson, settings: Settings): void {
  for (const id of Object.keys(settings)) settingOf(lesson, id);
  for (const { id, minimum, maximum, unit } of lesson.settings) {
    const value = settings[id];
    if (!(value >= minimum && value <= maximum)) {
      throw new RangeError(`${lesson.id}: ${id} must be from ${minimum} to ${maximum} ${unit}, got ${value}`);
    }
  }
}

/** Seed of the patient on the bench: everybody sees the same one. */
export const BENCH_SEED = 'bench';

/** Seed of hidden patient number `replicate`; never the seed of the bench. */
export function hiddenSeed(lesson: Lesson, attemptSeed: string, replicate: number): string {
  return `${lesson.id}/hidden/${lesson.hidden.seeds === 'shared' ? 'shared' : attemptSeed}/${replicate}`;
}

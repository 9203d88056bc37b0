import { preset } from '../core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../core/scenario/resolve.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { checkDistribution, drawPatient } from './patientDraw.ts';
import type { Background, Distribution, Scalar, ScenarioEntry, StudyDocument } from './schema.ts';
import { seedOf, valuesOf } from './settings.ts';
import { StudyError } from './studyError.ts';

/** One condition of a study: a scenario, or a distribution over scenarios, with one choice of what is varied. */
export interface Condition {
  /** Unique within the study: `jaw-clencher muscle.durationS=0.8`. */
  id: string;
  scenarioId: string;
  /** train: settings may be chosen by it; test: sealed until the choice is made. */
  part: 'train' | 'test';
  /** Partial scenario, without the draws. */
  document: object;
  varied: Record<string, Scalar>;
  draw: Record<string, Distribution>;
  background: Background | null;
}

const MAX_CONDITIONS = 10000;

/** Works out the conditions: the train scenarios with every combination of `vary`, then the sealed test scenarios. */
export function conditionsOf(study: StudyDocument): Condition[] {
  const vary = Object.entries(study.vary ?? {});
  const choices = vary.reduce<Record<string, Scalar>[]>(
    (rows, [path, given]) =>
      rows.flatMap((row) => valuesOf(given, `vary.${path}`).map((value) => ({ ...row, [path]: value }))),
    [{}],
  );
  if (!(choices.length * study.scenarios.length <= MAX_CONDITIONS)) {
    throw new StudyError(
      `vary: must make at most ${MAX_CONDITIONS} conditions, got ${choices.length * study.scenarios.length}`,
    );
  }
  const train = study.scenarios.flatMap((entry, k) =>
    choices.map((varied) => conditionOf(entry, 'train', varied, `scenarios.${k}`)),
  );
  const test = (study.test ?? []).map((entry, k) => conditionOf(entry, 'test', {}, `test.${k}`));
  const all = [...train, ...test];
  for (const [k, { id, part }] of all.entries()) {
    if (all.findIndex((other) => other.id === id) < k) {
      throw new StudyError(`${part === 'train' ? 'scenarios' : 'test'}: names must differ, got ${id} twice`);
    }
  }
  return all;
}

function conditionOf(
  entry: ScenarioEntry,
  part: 'train' | 'test',
  varied: Record<string, Scalar>,
  place: string,
): Condition {
  const { id: scenarioId, scenario = {}, set = {}, draw = {}, background = null } = entry;
  for (const [path, distribution] of Object.entries(draw)) {
    checkDistribution(path, distribution, `${place}.draw.${path}`);
    if (path in varied) throw new StudyError(`${place}.draw.${path}: is varied too; must be one of both, got both`);
  }
  const words = Object.entries(varied).map(([path, value]) => `${path}=${value}`);
  try {
    const base = typeof scenario === 'string' ? preset(scenario) : scenario;
    const document = withOverrides(base, assignments({ ...set, ...varied }));
    const condition = { id: [scenarioId, ...words].join(' '), scenarioId, part, document, varied, draw, background };
    patientOf(condition, '1', 0); // refuses what cannot be, before anything is run
    return condition;
  } catch (error) {
    if (error instanceof StudyError || !(error instanceof RangeError)) throw error;
    throw new StudyError(`${[place, ...words].join(' ')}: ${error.message}`);
  }
}

/** The seed of a patient: the same for every train condition, so that conditions can be compared in pairs. */
export function replicateSeed(study: StudyDocument, part: 'train' | 'test', replicate: number): string {
  return `${seedOf(study)}/${part}/${replicate}`;
}

/** One patient of a condition, and the keys drawn for it. */
export function patientOf(
  { document, draw }: Condition,
  seed: string,
  replicate: number,
): { scenario: Scenario; drawn: Record<string, Scalar> } {
  const drawn = drawPatient(draw, seed, replicate);
  return { scenario: resolveScenario(withOverrides(document, assignments(drawn))), drawn };
}

function assignments(values: Record<string, unknown>): string[] {
  return Object.entries(values).map(([path, value]) => `${path}=${JSON.stringify(value)}`);
}

import type { Block } from '../block.ts';
import { replicateSeed } from '../conditions.ts';
import { studyMeasures } from '../measures.ts';
import type { StudyPlan } from '../plan.ts';
import type { BlockRows } from '../runBlock.ts';
import type { Scalar } from '../schema.ts';

/** A cell of a table. */
export type Cell = string | number | boolean | null;

/** One column of the table of rows. */
export interface Column {
  name: string;
  type: 'STRING' | 'DOUBLE' | 'INT32' | 'BOOLEAN';
}

/** The columns of the table of rows: provenance, then what differs, then every measure. */
export function columnsOf(plan: StudyPlan): Column[] {
  const text = (name: string): Column => ({ name, type: 'STRING' });
  return [
    ...['study', 'studyHash', 'version', 'part', 'scenario', 'condition', 'scenarioHash'].map(text),
    ...variedPaths(plan).map((path) => ({ name: path, type: typeOf(variedValues(plan, path)) })),
    ...drawnPaths(plan).map((path) => ({ name: path, type: typeOf(drawnValues(plan, path)) })),
    { name: 'replicate', type: 'INT32' },
    ...['seed', 'strategy', 'setting', 'parameters'].map(text),
    ...parameterNames(plan).map((name) => ({
      name: `parameter.${name}`,
      type: typeOf(plan.settings.flatMap(({ parameters }) => parameters[name] ?? [])),
    })),
    { name: 'targetNv', type: 'DOUBLE' },
    { name: 'durationS', type: 'DOUBLE' },
    { name: 'sweepsOffered', type: 'INT32' },
    { name: 'catastrophe', type: 'INT32' },
    ...studyMeasures.map(({ column }) => ({ name: column, type: 'DOUBLE' as const })),
  ];
}

/** The rows of a block, in the order of the columns. */
export function tableRows(plan: StudyPlan, block: Block, rows: BlockRows): Cell[][] {
  const condition = plan.conditions[block.condition];
  const varied = variedPaths(plan).map((path) => condition.varied[path] ?? null);
  const names = parameterNames(plan);
  return rows.patients.flatMap((patient) => {
    const drawn = drawnPaths(plan).map((path) => patient.drawn[path] ?? null);
    const seed = replicateSeed(plan.study, condition.part, patient.replicate);
    return block.settings.map((number, k) => {
      const { id, strategy, parameters } = plan.settings[number];
      return [
        ...[plan.study.id, plan.hash, rows.version, condition.part, condition.scenarioId, condition.id],
        ...[
          patient.scenarioHash,
          ...varied,
          ...drawn,
          patient.replicate,
          seed,
          strategy,
          id,
          JSON.stringify(parameters),
        ],
        ...names.map((name) => parameters[name] ?? null),
        ...[patient.targetNv, patient.durationS, patient.sweepsOffered, ...patient.figures[k]],
      ];
    });
  });
}

function variedPaths(plan: StudyPlan): string[] {
  return Object.keys(plan.study.vary ?? {});
}

function variedValues(plan: StudyPlan, path: string): Scalar[] {
  return plan.conditions.flatMap(({ varied }) => varied[path] ?? []);
}

function drawnPaths(plan: StudyPlan): string[] {
  const varied = variedPaths(plan);
  const paths = plan.conditions.flatMap(({ draw }) => Object.keys(draw));
  return [...new Set(paths)].filter((path) => !varied.includes(path));
}

function drawnValues(plan: StudyPlan, path: string): Scalar[] {
  return plan.conditions.flatMap(({ draw }) => {
    const distribution = draw[path];
    if (!distribution) return [];
    return 'oneOf' in distribution ? distribution.oneOf : [0.5];
  });
}

function parameterNames(plan: StudyPlan): string[] {
  return [...new Set(plan.settings.flatMap(({ parameters }) => Object.keys(parameters)))];
}

/** Numbers and nothing else make a column of numbers. */
function typeOf(values: readonly Scalar[]): 'STRING' | 'DOUBLE' | 'BOOLEAN' {
  if (values.every((value) => typeof value === 'number')) return 'DOUBLE';
  return values.every((value) => typeof value === 'boolean') ? 'BOOLEAN' : 'STRING';
}

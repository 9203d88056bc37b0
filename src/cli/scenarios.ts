import type { TSchema } from '@sinclair/typebox';
import { stringify } from 'yaml';
import type { Action } from '../core/scenario/actions/action.ts';
import { actions } from '../core/scenario/actions.ts';
import { cautionsFor } from '../core/scenario/cautions.ts';
import { DEFAULT_PRESET, preset, presetGroups } from '../core/scenario/presets.ts';
import { resolveScenario, scenarioHash } from '../core/scenario/resolve.ts';
import { type Scenario, scenarioSchema } from '../core/scenario/schema.ts';
import { parseArguments, UsageError } from './arguments.ts';
import { textTable } from './table.ts';

const USAGE = `usage: sweepwise scenarios            list the patients
       sweepwise scenarios ID         print one patient whole, as YAML: a start for a scenario file of your own
       sweepwise scenarios --keys     list every key with unit, default, bounds and meaning
       sweepwise scenarios --actions  list what an event may do by name, with its cost in time
       sweepwise scenarios --json     the list as JSON
`;

/** Lists the patients that come with the lab, or the keys of a scenario. */
export function scenariosCommand(words: string[]): number {
  const parsed = parseArguments(words, { keys: 'flag', actions: 'flag', json: 'flag', help: 'flag' });
  const [id, ...more] = parsed.positionals;
  if (more.length > 0) throw new UsageError(`scenarios: takes one ID, got ${parsed.positionals.length}`);
  const flags = ['keys', 'actions', 'json'].filter((name) => parsed.flag(name)).map((name) => `--${name}`);
  const asked = [...parsed.positionals, ...flags];
  if (asked.length > 1)
    throw new UsageError(`scenarios: takes ID, --keys, --actions or --json, got ${asked.join(' and ')}`);
  if (parsed.flag('help')) process.stdout.write(USAGE);
  else if (parsed.flag('keys')) process.stdout.write(`${textTable([KEY_HEADER, ...keyRows(scenarioSchema, '')])}\n`);
  else if (parsed.flag('actions')) process.stdout.write(`${actionList()}\n`);
  else if (id !== undefined) process.stdout.write(wholeText(resolveScenario(preset(id))));
  else if (parsed.flag('json')) process.stdout.write(`${JSON.stringify(presetGroups.flatMap(described), null, 2)}\n`);
  else process.stdout.write(`${presetGroups.map(groupText).join('\n')}\nRace one: sweepwise race ${DEFAULT_PRESET}\n`);
  return 0;
}

/** A scenario as YAML, with what somebody who did this to a person would have to mind as comments above it. */
function wholeText(scenario: Scenario): string {
  const cautions = cautionsFor(scenario).map((sentence) => `# ${sentence}\n`);
  return `${cautions.join('')}${stringify(scenario)}`;
}

type PresetGroup = (typeof presetGroups)[number];

function groupText({ title, presets }: PresetGroup): string {
  const rows = presets.map((entry) => {
    const mark = entry.id === DEFAULT_PRESET ? ' (default)' : '';
    return `  ${entry.id.padEnd(24)}${entry.title}${mark}\n${' '.repeat(26)}${entry.story}\n`;
  });
  return `${title}\n${rows.join('')}`;
}

function described({ title: group, presets }: PresetGroup) {
  return presets.map(({ id, title, story }) => {
    const scenario = resolveScenario(preset(id));
    return { id, hash: scenarioHash(scenario), title, story, group, cautions: cautionsFor(scenario) };
  });
}

function actionList(): string {
  const costs = ({ costS, lastsS }: Action) => [
    costS > 0 ? `costs ${costS} s` : '',
    lastsS > 0 ? `lasts ${lastsS} s` : '',
  ];
  return [
    ...actions.map((entry) => {
      const times = costs(entry).filter((text) => text !== '');
      return `${entry.id.padEnd(29)}${[entry.label, ...times].join(', ')}\n${' '.repeat(29)}${entry.effect}\n`;
    }),
    'In a scenario: events: [{ atS: 60, action: wait }]. While an action costs time no sounds are presented.',
  ].join('\n');
}

const KEY_HEADER = ['key', 'default', 'allowed', 'unit', 'meaning'];

function keyRows(schema: TSchema, path: string): string[][] {
  if (schema.type !== 'object') {
    const choices = schema.anyOf?.map((entry: TSchema) => entry.const).join(' | ');
    const bounds =
      schema.minimum === undefined ? (schema.const ?? schema.type ?? '') : `${schema.minimum} … ${schema.maximum}`;
    return [
      [path, JSON.stringify(schema.default), String(choices ?? bounds), schema.unit ?? '', schema.description ?? ''],
    ];
  }
  return Object.entries(schema.properties as Record<string, TSchema>).flatMap(([key, entry]) =>
    keyRows(entry, path ? `${path}.${key}` : key),
  );
}

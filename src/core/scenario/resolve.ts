import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import type { TSchema } from '@sinclair/typebox';
import { Value } from '@sinclair/typebox/value';
import { action, actions } from './actions.ts';
import { checkDisturbances } from './disturbanceRules.ts';
import { checkEvents } from './eventRules.ts';
import { fixedPart } from './events.ts';
import { checkLanes } from './laneRules.ts';
import { refusalText, shown } from './refusalText.ts';
import { checkResponse } from './responseRules.ts';
import { type Scenario, scenarioSchema } from './schema.ts';
import { sessionDefaults } from './sessionDefaults.ts';
import { checkTogether } from './togetherRules.ts';

/** Refusal of a scenario: one line that names the key, the rule and the value. */
export class ScenarioError extends RangeError {}

/**
 * Completes a partial scenario with the defaults and checks every key.
 *
 * @param document - any part of a scenario, as parsed from YAML or JSON
 * @returns a complete scenario; the argument is not changed
 * @throws {ScenarioError} for an unknown key, a wrong type or a value out of bounds: path, rule and value
 * @example resolveScenario({ stimulus: { ratePerS: 31 } }).window.postMs // 15
 */
export function resolveScenario(document: unknown): Scenario {
  const scenario = complete(document);
  checkEvents(scenario, refuse);
  scenarioStages(scenario); // refuses impossible events
  return scenario;
}

/** Completes a document and checks everything but its events. */
function complete(document: unknown): Scenario {
  if (!isGroup(document)) {
    throw new ScenarioError(`scenario: must be a document of keys, got ${shown(document)}`);
  }
  const completed = withDefaults(scenarioSchema, laidOver(defaultsFor(document), document));
  const first = Value.Errors(scenarioSchema, completed).First();
  if (first) throw new ScenarioError(refusalText(first));
  const scenario = completed as Scenario;
  checkResponse(scenario, refuse);
  try {
    checkLanes(scenario);
  } catch (error) {
    throw new ScenarioError((error as RangeError).message);
  }
  checkDisturbances(scenario, refuse);
  checkTogether(scenario, refuse);
  return scenario;
}

function refuse(path: string, rule: string, value: number | string): never {
  throw new ScenarioError(`${path}: ${rule}, got ${value}`);
}

/** A stretch of a session during which nothing is changed. */
export interface Stage {
  /** Time on the clock of the session at which it begins, s. */
  fromS: number;
  scenario: Scenario;
}

/** What an event changes for a while, and until when: Infinity if something else has to end it. */
interface Change {
  action: string;
  place: string;
  set: Record<string, unknown>;
  endS: number;
}

/**
 * Works out what holds when: the scenario at the start, after each of its events, and when what lasts a while is over.
 *
 * Changes that stay build on each other; those of an action that lasts a while lie on top until it ends. Those of one
 * that another undoes lie on top until it does, so that what was changed before or meanwhile comes back and not what
 * held at second 0; a key that is set by itself meanwhile shows at once. Each stage keeps the events of the scenario,
 * because they say when there are pauses.
 *
 * @throws {ScenarioError} for an event out of order, or one whose keys or values cannot be: number of the event first
 */
export function scenarioStages(scenario: Scenario): Stage[] {
  const stages: Stage[] = [{ fromS: -Infinity, scenario }];
  const lasting = structuredClone(scenario) as object; // with every change so far that stays
  let lastingNow = scenario;
  let passing: Change[] = [];

  /** Ends what is over by this time, stage by stage. */
  function endUntil(timeS: number): void {
    while (passing.length > 0) {
      const endS = Math.min(...passing.map((change) => change.endS));
      if (!(endS <= timeS && endS < Infinity)) return;
      passing = passing.filter((change) => change.endS > endS);
      stages.push({ fromS: endS, scenario: passing.length > 0 ? laidOn(lasting, passing) : lastingNow });
    }
  }

  /** Sets keys that stay, over whatever waits to be undone. */
  function settle(place: string, set: Record<string, unknown>): void {
    for (const [path, value] of Object.entries(set)) {
      setInEvent(lasting, place, path, value);
      passing = passing.map((change) =>
        change.endS < Infinity ? change : { ...change, set: without(change.set, path) },
      );
    }
  }

  for (const [k, { atS, action: id, target, set }] of scenario.events.entries()) {
    endUntil(atS);
    const { fromS } = stages[stages.length - 1];
    if (!(atS >= fromS)) refuse(`events.${k}.atS`, `must not be before the event above (${fromS} s)`, atS);
    const done = action(id);
    const needed = done?.needs(lastingNow) ?? null;
    if (needed !== null) refuse(`events.${k}.action`, `needs ${needed} at ${atS} s`, id);
    if (!(target === 'none' || done?.targets)) refuse(`events.${k}.target`, `must be none for action ${id}`, target);
    passing = passing.filter((change) => !done?.undoes?.includes(change.action as typeof done.id));
    const worked = done?.apply(lastingNow, target) ?? {};
    const place = `events.${k}.set`;
    const untilUndone = actions.some((entry) => entry.undoes?.includes(id as typeof entry.id));
    if (untilUndone) passing.push({ action: id, place, set: worked, endS: Infinity });
    else if (done && done.lastsS > 0) passing.push({ action: id, place, set: worked, endS: atS + done.lastsS });
    else settle(place, worked);
    settle(place, set);
    lastingNow = named(place, () => complete(lasting));
    stages.push({ fromS: atS, scenario: passing.length > 0 ? laidOn(lasting, passing) : lastingNow });
  }
  endUntil(Infinity);
  return stages;
}

/** Lays changes that last a while over a document. */
function laidOn(document: object, changes: readonly Change[]): Scenario {
  const copy = structuredClone(document);
  for (const { place, set } of changes) {
    for (const [path, value] of Object.entries(set)) setInEvent(copy, place, path, value);
  }
  return named(changes[changes.length - 1].place, () => complete(copy));
}

function without(set: Record<string, unknown>, path: string): Record<string, unknown> {
  return Object.fromEntries(Object.entries(set).filter(([key]) => key !== path));
}

function setInEvent(document: object, place: string, path: string, value: unknown): void {
  const fixed = fixedPart(path);
  if (fixed) throw new ScenarioError(`${place}: ${fixed} cannot change during a session, got ${path}`);
  // A whole group would take with it what may not change, and reset every key that it leaves out.
  const known = groupAt(path);
  if (known) {
    const example = `${path}.${Object.keys(known)[0]}`;
    throw new ScenarioError(`${place}: must name single keys by their full path, such as ${example}, got ${path}`);
  }
  setPath(document, path.split('.'), value, place, path);
}

/** Puts the place in front of a refusal. */
function named<T>(place: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    throw error instanceof ScenarioError ? new ScenarioError(`${place}: ${error.message}`) : error;
  }
}

/**
 * Applies `path=value` overrides to a partial scenario, for instance `stimulus.ratePerS=31`.
 *
 * The value is read as JSON where it is JSON (numbers, true, lists) and as plain text otherwise.
 *
 * @throws {ScenarioError} if an assignment has no `=`, or its path leads through something that is not a group
 */
export function withOverrides(document: object, assignments: readonly string[]): object {
  const result = structuredClone(document);
  for (const assignment of assignments) {
    const equals = assignment.indexOf('=');
    if (equals < 1) throw new ScenarioError(`override: must be path=value, got "${assignment}"`);
    const keys = assignment.slice(0, equals).trim().split('.');
    if (keys.includes('')) throw new ScenarioError(`override: path must have no empty key, got "${assignment}"`);
    setPath(result, keys, parseValue(assignment.slice(equals + 1).trim()), 'override', assignment);
  }
  return result;
}

/** Sets a key deep in a document, making the groups on the way. */
function setPath(document: object, keys: readonly string[], value: unknown, place: string, given: string): void {
  let group = document as Record<string, unknown>;
  for (const key of keys.slice(0, -1)) {
    if (!Object.hasOwn(group, key)) setOwn(group, key, {});
    const next = group[key];
    if (typeof next !== 'object' || next === null || Array.isArray(next)) {
      throw new ScenarioError(`${place}: ${key} in ${keys.join('.')} is a value, not a group, got "${given}"`);
    }
    group = next as Record<string, unknown>;
  }
  setOwn(group, keys[keys.length - 1], value);
}

/** Defines the key itself, so that a path such as `__proto__` is an unknown key like any other. */
function setOwn(group: Record<string, unknown>, key: string, value: unknown): void {
  Object.defineProperty(group, key, { value, writable: true, enumerable: true, configurable: true });
}

/** Names a scenario by its content: the first 12 hexadecimal digits of the SHA-256 of its sorted JSON. */
export function scenarioHash(scenario: Scenario): string {
  return bytesToHex(sha256(utf8ToBytes(JSON.stringify(scenario, sortedKeys)))).slice(0, 12);
}

function sortedKeys(_key: string, value: unknown): unknown {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return value;
  return Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1)));
}

function parseValue(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    // A list of plain words, which JSON would want in quotes: [eeg, mains]
    const list = /^\[(.*)\]$/.exec(text);
    return list ? list[1].split(',').map((word) => word.trim()) : text;
  }
}

/** The defaults that belong to the kind of response that a document asks for. */
function defaultsFor(document: Record<string, unknown>): Record<string, unknown> {
  const kind = isGroup(document.response) ? document.response.kind : undefined;
  const known = typeof kind === 'string' && Object.hasOwn(sessionDefaults, kind);
  return known ? { ...sessionDefaults[kind as keyof typeof sessionDefaults] } : {};
}

/** Copies the defaults and lays the document over them, group by group. */
function laidOver(defaults: Record<string, unknown>, document: Record<string, unknown>): Record<string, unknown> {
  const result = { ...defaults };
  for (const key of Object.keys(document)) {
    const given = document[key];
    const below = Object.hasOwn(defaults, key) ? defaults[key] : undefined;
    if (given === undefined) continue;
    setOwn(result, key, isGroup(given) && isGroup(below) ? laidOver(below, given) : given);
  }
  return result;
}

/** Copies the document and fills in what is missing; keys the schema does not know stay, to be refused by name. */
function withDefaults(schema: TSchema, value: unknown): unknown {
  if (schema.items?.type === 'object' && Array.isArray(value)) {
    return value.map((entry) => withDefaults(schema.items, entry));
  }
  if (!schema.properties) return structuredClone(value === undefined ? schema.default : value);
  if (value !== undefined && !isGroup(value)) return value;
  const given = (value ?? {}) as Record<string, unknown>;
  const result: Record<string, unknown> = {};
  for (const [key, entry] of Object.entries(schema.properties as Record<string, TSchema>)) {
    result[key] = withDefaults(entry, Object.hasOwn(given, key) ? given[key] : undefined);
  }
  for (const key of Object.keys(given)) {
    if (!Object.hasOwn(schema.properties, key)) setOwn(result, key, given[key]);
  }
  return result;
}

/** Dates and maps are objects too, and would pass for a group without keys. */
function isGroup(value: unknown): value is Record<string, unknown> {
  if (typeof value !== 'object' || value === null) return false;
  const prototype = Object.getPrototypeOf(value);
  return prototype === Object.prototype || prototype === null;
}

/** Keys of the group that a path leads to, or null if it leads to a value or nowhere. */
function groupAt(path: string): Record<string, TSchema> | null {
  let schema: TSchema | undefined = scenarioSchema;
  for (const key of path.split('.')) {
    const properties: Record<string, TSchema> | undefined = schema?.properties;
    schema = properties && Object.hasOwn(properties, key) ? properties[key] : undefined;
  }
  return schema?.properties ?? null;
}

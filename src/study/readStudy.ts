import type { TSchema } from '@sinclair/typebox';
import { Value, type ValueError } from '@sinclair/typebox/value';
import { type Document, isMap, isNode, LineCounter, parseDocument } from 'yaml';
import { type StudyDocument, studySchema } from './schema.ts';
import { StudyError } from './studyError.ts';

/**
 * Reads a study from YAML or JSON text and checks it key by key; `planStudy` then checks how its parts fit.
 *
 * @param fileName - named in the refusal
 * @throws {StudyError} one line: file, line, key, rule and value
 */
export function readStudy(fileName: string, text: string): StudyDocument {
  const lines = new LineCounter();
  const document = parseDocument(text, {
    lineCounter: lines,
    prettyErrors: true,
    uniqueKeys: true,
    stringKeys: true,
    logLevel: 'error',
  });
  const [error] = document.errors;
  if (error) {
    const line = error.linePos?.[0].line ?? 1;
    throw new StudyError(`${fileName}: line ${line}: ${error.message.split(' at line ')[0].split('\n')[0]}`);
  }
  let content: unknown;
  try {
    content = document.toJS({ maxAliasCount: 100 });
  } catch (cause) {
    throw new StudyError(`${fileName}: ${(cause as Error).message.split('\n')[0]}`);
  }
  if (typeof content !== 'object' || content === null || Array.isArray(content)) {
    throw new StudyError(`${fileName}: must hold a study, got ${Array.isArray(content) ? 'a list' : shown(content)}`);
  }
  const first = Value.Errors(studySchema, content).First();
  if (!first) return content as StudyDocument;
  const { keys, rule } = describe(first);
  throw new StudyError(`${fileName}: line ${lineOf(document, keys, lines)}: ${keys.join('.') || 'study'}: ${rule}`);
}

/** Puts file and line in front of a refusal that begins with a key of the study. */
export function atLine(fileName: string, text: string, error: StudyError): StudyError {
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, logLevel: 'error' });
  const keys = (/^[\w.]+/.exec(error.message)?.[0] ?? '').split('.');
  return new StudyError(`${fileName}: line ${lineOf(document, keys, lines)}: ${error.message}`);
}

/** The line of a key, or of the nearest group around it. */
function lineOf(document: Document, keys: readonly string[], lines: LineCounter): number {
  for (let depth = keys.length; depth > 0; depth--) {
    for (const path of spellings(keys.slice(0, depth))) {
      const parent = document.getIn(path.slice(0, -1), true);
      const pair = isMap(parent) ? parent.items.find(({ key }) => String(key) === String(path[path.length - 1])) : null;
      const node = pair?.key ?? (path.length > 0 ? document.getIn(path, true) : null);
      if (isNode(node) && node.range) return lines.linePos(node.range[0]).line;
    }
  }
  return 1;
}

/** A dotted key of a scenario is one key in the file: `vary.muscle.durationS` is `vary`, then `muscle.durationS`. */
function spellings(keys: readonly string[]): (string | number)[][] {
  const numbered = keys.map((key) => (/^\d+$/.test(key) ? Number(key) : key));
  const joined = numbered.map((_, k) => [...numbered.slice(0, k), keys.slice(k).join('.')]);
  return [numbered, ...joined];
}

function describe(error: ValueError): { keys: string[]; rule: string } {
  const keys = error.path
    .split('/')
    .slice(1)
    .map((key) => key.replaceAll('~1', '/').replaceAll('~0', '~'));
  const { schema, value } = error;
  const members = schema.anyOf as TSchema[] | undefined;
  if (members) {
    const kinds = members.map((member) => member.properties?.kind?.const);
    const kind = (value as { kind?: unknown } | null)?.kind;
    if (kinds.every((known) => known !== undefined) && kind !== undefined && !kinds.includes(kind)) {
      return { keys: [...keys, 'kind'], rule: `must be one of ${kinds.join(', ')}, got ${shown(kind)}` };
    }
    const inner = meantMember(error, members);
    if (inner) return describe(inner);
    const literals = members.filter((member) => member.const !== undefined).map((member) => member.const);
    const rule = literals.length === members.length ? literals.join(' or ') : schema.description;
    return { keys, rule: `must be ${rule}, got ${shown(value)}` };
  }
  if (error.message.startsWith('Unexpected property')) {
    return { keys, rule: `unknown key${knownKeys(schema)}` };
  }
  if (error.message.startsWith('Expected required property')) return { keys, rule: 'must be given, got nothing' };
  if (schema.const !== undefined) return { keys, rule: `must be ${schema.const}, got ${shown(value)}` };
  const rule = schema.description ?? error.message.replace(/^Expected /, '');
  return { keys, rule: `must be ${rule}, got ${shown(value)}` };
}

function knownKeys(schema: TSchema): string {
  const known = Object.keys(schema.properties ?? {});
  return known.length > 0 ? `; known here: ${known.join(', ')}` : '';
}

/** Inside a union: what is wrong with the member that the value means to be. */
function meantMember(error: ValueError, members: TSchema[]): ValueError | undefined {
  const { value } = error;
  if (typeof value !== 'object' || value === null) return undefined;
  const isList = Array.isArray(value);
  const sameKind = members.flatMap((member, k) => ((member.type === 'array') === isList && member.type ? [k] : []));
  const groups = sameKind.filter((k) => isList || members[k].type === 'object');
  const kind = (value as Record<string, unknown>).kind;
  const meant =
    groups.find((k) => members[k].properties?.kind && members[k].properties.kind.const === kind) ??
    groups.find((k) => !isList && Object.keys(value).some((key) => Object.hasOwn(members[k].properties ?? {}, key)));
  if (meant === undefined && groups.length !== 1) return undefined;
  return error.errors[meant ?? groups[0]]?.First();
}

function shown(value: unknown): string {
  if (value === undefined || value === null) return 'nothing';
  if (typeof value === 'number') return String(value);
  const text = JSON.stringify(value);
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}

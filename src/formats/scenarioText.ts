import { parseDocument } from 'yaml';

/**
 * Reads a scenario document from YAML or JSON text (JSON is YAML).
 *
 * @returns the parsed document; `resolveScenario` checks its keys and values
 * @throws {RangeError} if the text is not YAML, naming file, line and column, or if it holds no keys
 */
export function readScenarioText(fileName: string, text: string): object {
  const document = parseDocument(text, { prettyErrors: true, uniqueKeys: true, stringKeys: true, logLevel: 'error' });
  const [error] = document.errors;
  if (error)
    throw new RangeError(`${fileName}: ${error.message.split('\n')[0].split('; please use')[0].replace(/:$/, '')}`);
  let content: unknown;
  try {
    content = document.toJS({ maxAliasCount: 100 });
  } catch (cause) {
    throw new RangeError(`${fileName}: ${(cause as Error).message.split('\n')[0]}`);
  }
  if (typeof content !== 'object' || content === null || Array.isArray(content)) {
    throw new RangeError(
      `${fileName}: must hold a document of keys, got ${content === null ? 'nothing' : Array.isArray(content) ? 'a list' : typeof content}`,
    );
  }
  return content;
}

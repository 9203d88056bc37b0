import { Value } from '@sinclair/typebox/value';
import { resolveScenario, ScenarioError } from '../../core/scenario/resolve.ts';
import { racingLanesOf } from '../../core/session/lanes.ts';
import { atLine, type LineHz } from '../atLine.ts';
import { readYaml } from '../lessonText.ts';
import { LessonError, refusalOf, shownValue } from '../readLesson.ts';
import { drillRemedy } from './drillRemedies.ts';
import { drillDocument, withSourceRight } from './drillRun.ts';
import { type Drill, drillSchema } from './drillSchema.ts';
import { drillSource } from './drillSources.ts';

/**
 * Reads a drill from YAML or JSON text, for a supply of 50 or 60 Hz, and checks that all it offers can be run.
 *
 * @param file - named in refusals, which are `file:line: key: rule, got value`
 * @throws {LessonError} for text that is not YAML, an unknown key or name, or keys that make no scenario
 */
export function readDrillText(text: string, file: string, lineHz: LineHz = 50): Drill {
  return readYaml(text, file, (content, lineOf) => {
    const refuse = (path: string, rule: string): never => {
      throw new LessonError(`${file}:${lineOf(path.split('/'))}: ${path.replaceAll('/', '.')}: ${rule}`);
    };
    const picked = atLine(content, lineHz);
    if (typeof picked === 'object' && picked !== null && !Array.isArray(picked)) {
      if (Object.hasOwn(picked, 'lineHz')) refuse('lineHz', 'must not be written: a drill is read for both supplies');
      (picked as { lineHz: number }).lineHz = lineHz;
    }
    const error = Value.Errors(drillSchema, picked).First();
    if (error) {
      const { path, text: rule } = refusalOf(error);
      throw new LessonError(`${file}:${lineOf(error.path.slice(1).split('/'))}: ${path}: ${rule}`);
    }
    const drill = picked as Drill;
    checkDrill(drill, refuse);
    return drill;
  });
}

/** Tries everything that a drill offers, without running it. */
function checkDrill(drill: Drill, refuse: (path: string, rule: string) => never): void {
  const holds = (path: string, work: () => unknown) => {
    try {
      work();
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      refuse(path, error instanceof ScenarioError ? `must make a scenario: ${error.message}` : error.message);
    }
  };
  const racing = (document: object) => racingLanesOf(resolveScenario(document));
  holds('session', () => racing(drillDocument(drill, false)));
  if (Object.keys(drill.trouble).length === 0) refuse('trouble', `must hold a key, got ${shownValue(drill.trouble)}`);
  holds('trouble', () => racing(drillDocument(drill, true)));
  for (const [k, id] of drill.sources.entries()) {
    holds(`sources/${k}`, () => drillSource(id));
    holds(`sources/${k}`, () => racing(withSourceRight(drill, id)));
  }
  for (const [k, id] of drill.remedies.entries()) {
    holds(`remedies/${k}`, () => drillRemedy(id));
    holds(`remedies/${k}`, () => racing(drillDocument(drill, true, [id])));
  }
  holds('remedies', () => racing(drillDocument(drill, true, drill.remedies)));
}

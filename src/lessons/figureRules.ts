import type { Stopping } from './figureSchema.ts';
import { inRun, laneIdsOf } from './lanesToMeasure.ts';
import { choosesLane } from './lessonRun.ts';
import type { Figure, Lesson, Run, Setting } from './schema.ts';

type ChoiceSetting = Extract<Setting, { kind: 'choice' }>;

/** Refuses: key, rule and the value that broke it. */
export type Refuse = (path: string, rule: string, ...values: unknown[]) => never;

/** Checks that everything which a figure names is in the lesson: runs, lanes, settings. */
export function checkFigure(lesson: Lesson, path: string, figure: Figure, refuse: Refuse): void {
  switch (figure.figure) {
    case 'ratio':
    case 'decibels':
    case 'difference':
    case 'distance':
      checkFigure(lesson, `${path}.of`, figure.of, refuse);
      checkFigure(lesson, `${path}.to`, figure.to, refuse);
      return;
    case 'sum':
      for (const [k, part] of figure.of.entries()) checkFigure(lesson, `${path}.of.${k}`, part, refuse);
      return;
    case 'over-runs':
      if ((figure.take === 'share') !== (figure.atMost !== undefined || figure.atLeast !== undefined)) {
        refuse(path, 'atMost or atLeast must be given for take: share, and only there', figure.take);
      }
      if (typeof figure.atMost === 'object') {
        checkSetting(lesson, `${path}.atMost.setting`, figure.atMost.setting, refuse);
      }
      for (const run of figure.runs) {
        findRun(lesson, `${path}.runs`, run, refuse);
        checkFigure(lesson, `${path}.of`, inRun(figure.of, run), refuse);
      }
      return;
    case 'threshold-within':
    case 'search-seconds':
      for (const run of figure.levels) checkLane(lesson, `${path}.levels`, run, figure.lane, refuse);
      checkStopping(lesson, `${path}.stop`, figure.stop, refuse);
      return;
    case 'called':
    case 'seconds-to-call':
      checkLane(lesson, path, figure.run, figure.lane, refuse);
      checkStopping(lesson, `${path}.stop`, figure.stop, refuse);
      return;
    case 'setting':
      checkSetting(lesson, `${path}.setting`, figure.setting, refuse);
      return;
    case 'pickup':
      findRun(lesson, `${path}.run`, figure.run, refuse);
      return;
    case 'changed':
      for (const id of figure.settings) {
        if (!lesson.settings.some((entry) => entry.id === id)) {
          refuse(`${path}.settings`, 'must be settings of this lesson', id);
        }
      }
      return;
    case 'diagnosis':
      if (!lesson.settings.some((entry) => entry.id === figure.setting && 'diagnosisOf' in entry)) {
        refuse(`${path}.setting`, 'must be a diagnosis of this lesson', figure.setting);
      }
      return;
    case 'looks':
      if (!lesson.runs.some((run) => run.case !== undefined)) refuse(path, 'must have a run with a case', 'none');
      return;
    case 'best-lane':
      for (const lane of figure.lanes) checkLane(lesson, `${path}.lanes`, figure.run, lane, refuse);
      if ((figure.of === 'seconds-to-target') !== (figure.targetNv !== undefined)) {
        refuse(`${path}.targetNv`, 'must be given for seconds-to-target, and only there', figure.targetNv ?? 'nothing');
      }
      return;
    case 'lock-distance':
      if (typeof figure.ratePerS === 'object') {
        checkSetting(lesson, `${path}.ratePerS.setting`, figure.ratePerS.setting, refuse);
      }
      return;
    case 'lowest-noise':
    case 'best-value':
      if (!variationsOf(findRun(lesson, `${path}.run`, figure.run, refuse), figure.strategy).length) {
        refuse(`${path}.run`, `must be a run that varies ${figure.strategy ?? 'a strategy'}`, figure.run);
      }
      return;
    default:
      checkLane(lesson, path, figure.run, figure.lane, refuse);
  }
}

function checkStopping(lesson: Lesson, path: string, stop: Stopping, refuse: Refuse): void {
  for (const [key, given] of Object.entries(stop)) {
    if (typeof given === 'object') checkSetting(lesson, `${path}.${key}.setting`, given.setting, refuse);
  }
}

/** A setting by which a figure goes: one that is a number. */
function checkSetting(lesson: Lesson, path: string, id: string, refuse: Refuse): void {
  if (!lesson.settings.some((setting) => setting.id === id && setting.kind === 'number')) {
    refuse(path, 'must be a setting of this lesson with a number', id);
  }
}

export function findRun(lesson: Lesson, path: string, id: string, refuse: Refuse): Run {
  return lesson.runs.find((run) => run.id === id) ?? refuse(path, 'must be a run of this lesson', id);
}

function variationsOf(run: Run, strategy?: string) {
  return (run.vary ?? []).filter((entry) => strategy === undefined || entry.strategy === strategy);
}

export function checkLane(lesson: Lesson, path: string, runId: string, lane: string, refuse: Refuse): void {
  const run = findRun(lesson, path, runId, refuse);
  const lanes = laneIdsOf(run);
  if (lane.startsWith('setting:')) {
    const setting = lesson.settings.find((entry) => entry.kind === 'choice' && `setting:${entry.id}` === lane) as
      | ChoiceSetting
      | undefined;
    if (setting === undefined || !choosesLane(setting)) {
      refuse(path, 'must be a choice of this lesson whose options are lanes', lane);
    }
    for (const { id } of setting?.options ?? []) {
      if (!lanes.includes(id)) refuse(path, `every option of ${lane} must be one of ${lanes.join(', ')}`, id);
    }
    return;
  }
  if (!lanes.includes(lane)) refuse(path, `lane must be one of ${lanes.join(', ')}`, lane);
}

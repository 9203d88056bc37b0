import { averagingStrategies } from '../core/averaging/index.ts';
import { checkFigure, checkLane, findRun, type Refuse } from './figureRules.ts';
import { type Settings, scenarioKey, scenarioOf, settingRule, startSettings } from './lessonRun.ts';
import { isAnswerTo } from './markQuestion.ts';
import { type Lesson, type NumberSetting, PART_POINTS, type Question, type Run, type Setting } from './schema.ts';
import { settingsOf } from './standardPlayers.ts';

type ChoiceSetting = Extract<Setting, { kind: 'choice' }>;

/** Checks the parts of a lesson against each other: names that lead somewhere, points that add up, runs that run. */
export function checkLessonRules(lesson: Lesson, refuse: Refuse): void {
  checkSettings(lesson, refuse);
  checkControls(lesson, refuse);
  checkRuns(lesson, refuse);
  checkCases(lesson, refuse);
  checkQuestions(lesson, refuse);
  checkRules(lesson, refuse);
  checkPlayers(lesson, refuse);
}

function checkSettings(lesson: Lesson, refuse: Refuse): void {
  unique(lesson.settings, 'settings', refuse);
  for (const [k, setting] of lesson.settings.entries()) {
    if (setting.kind === 'number') checkNumberSetting(`settings.${k}`, setting, refuse);
    else checkChoiceSetting(`settings.${k}`, setting, refuse);
    const rule = settingRule(setting, setting.start);
    if (rule !== null) refuse(`settings.${k}.start`, rule, setting.start);
  }
}

function checkNumberSetting(place: string, { path, minimum, maximum }: NumberSetting, refuse: Refuse): void {
  if (path !== undefined) {
    const schema = scenarioKey(path);
    if (schema?.type !== 'number' && schema?.type !== 'integer') {
      refuse(`${place}.path`, 'must be a number of the scenario', path);
    }
    if (!(minimum >= schema?.minimum)) refuse(`${place}.minimum`, `must be >= ${schema?.minimum}`, minimum);
    if (!(maximum <= schema?.maximum)) refuse(`${place}.maximum`, `must be <= ${schema?.maximum}`, maximum);
  }
  if (!(minimum < maximum)) refuse(`${place}.maximum`, `must be > minimum (${minimum})`, maximum);
}

function checkChoiceSetting(place: string, { path, diagnosisOf, options }: ChoiceSetting, refuse: Refuse): void {
  unique(options, `${place}.options`, refuse);
  if (path !== undefined && !scenarioKey(path)) refuse(`${place}.path`, 'must be a key of the scenario', path);
  if (path !== undefined && diagnosisOf !== undefined) refuse(`${place}.diagnosisOf`, 'must not be given with a path');
  const changes = options[0].change !== undefined;
  for (const [k, { value, change }] of options.entries()) {
    if ((change !== undefined) !== changes) {
      const rule = `must be given ${changes ? 'for every option, {} for none' : 'for every option or for none'}`;
      refuse(`${place}.options.${k}.change`, rule, change ?? 'nothing');
    }
    if (change && (path ?? diagnosisOf) !== undefined) {
      refuse(`${place}.options.${k}.change`, 'must not be given with a path or a diagnosis', change);
    }
    if ((path === undefined) !== (value === undefined)) {
      const rule = path === undefined ? 'must not be given without a path' : 'must be given';
      refuse(`${place}.options.${k}.value`, rule, value ?? 'nothing');
    }
  }
}

/** Free and hidden controls are there, are not both, and give no look at an unlabelled patient that is not counted. */
function checkControls({ controls, settings, runs }: Lesson, refuse: Refuse): void {
  const { free = [], hidden = [] } = controls ?? {};
  const isWithin = (path: string, place: string) => path === place || path.startsWith(`${place}.`);
  for (const [k, path] of free.entries()) {
    const schema = scenarioKey(path);
    if (!schema || schema.type === 'object') refuse(`controls.free.${k}`, 'must be a key of the scenario', path);
    if (settings.some((setting) => setting.path === path)) refuse(`controls.free.${k}`, 'is a setting already', path);
    if (hidden.some((place) => isWithin(path, place))) refuse(`controls.free.${k}`, 'must not be hidden', path);
  }
  if (free.length > 0 && runs.some((run) => run.case !== undefined)) {
    refuse('controls.free', 'must be none where patients are unlabelled: every look is counted', free[0]);
  }
  for (const [k, place] of hidden.entries()) {
    if (!scenarioKey(place)) refuse(`controls.hidden.${k}`, 'must be a key or a section of the scenario', place);
    const shown = settings.find(({ path }) => path !== undefined && isWithin(path, place));
    if (shown) refuse(`controls.hidden.${k}`, `must not hide the setting ${shown.id}`, place);
  }
}

function checkRuns(lesson: Lesson, refuse: Refuse): void {
  unique(lesson.runs, 'runs', refuse);
  const starts = startSettings(lesson);
  for (const [k, run] of lesson.runs.entries()) {
    for (const id of run.settings) {
      if (!Object.hasOwn(starts, id)) refuse(`runs.${k}.settings`, 'must name settings of this lesson', id);
    }
    for (const [j, { strategy, parameter }] of (run.vary ?? []).entries()) {
      const found = averagingStrategies.find(({ id }) => id === strategy);
      const strategies = averagingStrategies.map(({ id }) => id).join(', ');
      if (!found) refuse(`runs.${k}.vary.${j}.strategy`, `must be one of ${strategies}`, strategy);
      const parameters = Object.keys(found?.parameters.properties ?? {});
      if (!parameters.includes(parameter)) {
        refuse(`runs.${k}.vary.${j}.parameter`, `must be one of ${parameters.join(', ') || 'none'}`, parameter);
      }
    }
    for (const strategy of run.strategies ?? []) {
      const choices = averagingStrategies.map(({ id }) => id);
      if (!choices.includes(strategy)) {
        refuse(`runs.${k}.strategies`, `must be of ${choices.join(', ')}`, strategy);
      }
    }
    try {
      // With every option of every choice: a lesson must not fail only for the learner who picks one.
      for (const settings of settingsToTry(lesson, run, starts)) {
        if (run.case === undefined) scenarioOf(lesson, run, settings);
        // Any patient may have any case.
        else for (const { change } of lesson.cases ?? []) scenarioOf(lesson, withChange(run, change), settings);
      }
    } catch (error) {
      refuse(`runs.${k} (${run.id})`, (error as Error).message);
    }
  }
  if (!lesson.runs.some(({ bench }) => bench)) refuse('runs', 'must have one for the bench', 'none');
  findRun(lesson, 'report.run', lesson.report.run, refuse);
}

/** Unlabelled patients have a case each, and whoever names one can name every case. */
function checkCases(lesson: Lesson, refuse: Refuse): void {
  const { cases = [] } = lesson;
  unique(cases, 'cases', refuse);
  for (const [k, run] of lesson.runs.entries()) {
    if (run.case !== undefined && run.case > cases.length) {
      refuse(`runs.${k}.case`, `must be at most the number of cases (${cases.length})`, run.case);
    }
  }
  for (const [k, setting] of lesson.settings.entries()) {
    if (setting.kind !== 'choice' || setting.diagnosisOf === undefined) continue;
    const place = `settings.${k}.diagnosisOf`;
    const run = findRun(lesson, place, setting.diagnosisOf, refuse);
    if (run.case === undefined) refuse(place, 'must be a run with a case', run.id);
    const missing = cases.find(({ id }) => !setting.options.some((option) => option.id === id));
    if (missing) refuse(`settings.${k}.options`, 'must have every case', missing.id);
  }
}

/** The starting settings, and each option of each choice that the run takes. */
function* settingsToTry(lesson: Lesson, run: Run, starts: Settings): Generator<Settings> {
  yield starts;
  for (const setting of lesson.settings) {
    if (!run.settings.includes(setting.id)) continue;
    const values =
      setting.kind === 'number' ? [setting.minimum, setting.maximum] : setting.options.map((option) => option.id);
    for (const value of values) yield { ...starts, [setting.id]: value };
  }
}

function withChange(run: Run, change: NonNullable<Run['change']>): Run {
  const { case: _case, ...labelled } = run;
  return { ...labelled, change: { ...change, ...run.change } };
}

function checkQuestions(lesson: Lesson, refuse: Refuse): void {
  const all: Question[] = [...lesson.predictions, ...lesson.measurements, ...lesson.explanations];
  unique([...all, ...lesson.outcome], 'questions and rules', refuse);
  for (const part of ['predictions', 'measurements', 'explanations'] as const) {
    const forConfidence = part === 'predictions' ? lesson.confidencePoints : 0;
    const sum = lesson[part].reduce((total, { points }) => total + points, forConfidence);
    const withConfidence = forConfidence > 0 ? ' with confidencePoints' : '';
    if (sum !== PART_POINTS[part]) refuse(part, `points must add up to ${PART_POINTS[part]}${withConfidence}`, sum);
    for (const [k, question] of lesson[part].entries()) checkQuestion(lesson, `${part}.${k}`, question, refuse);
  }
}

function checkQuestion(lesson: Lesson, path: string, question: Question, refuse: Refuse): void {
  switch (question.kind) {
    case 'number':
      if ((question.scale === undefined) === (question.tolerance === undefined)) {
        refuse(path, 'must have either scale or tolerance', question.scale === undefined ? 'neither' : 'both');
      }
      checkFigure(lesson, `${path}.figure`, question.figure, refuse);
      return;
    case 'choice':
      checkFigure(lesson, `${path}.figure`, question.figure, refuse);
      unique(question.options, `${path}.options`, refuse);
      checkOptionRanges(`${path}.options`, question.options, refuse);
      return;
    case 'claims':
      unique(question.claims, `${path}.claims`, refuse);
      for (const [k, { figure, from, to }] of question.claims.entries()) {
        checkFigure(lesson, `${path}.claims.${k}.figure`, figure, refuse);
        if (from === undefined && to === undefined) refuse(`${path}.claims.${k}`, 'must have from or to', 'neither');
        if (!((from ?? -Infinity) < (to ?? Infinity))) {
          refuse(`${path}.claims.${k}`, 'from must be below to', `${from} to ${to}`);
        }
      }
      return;
    case 'yes-no':
      if ((question.atMost === undefined) === (question.atLeast === undefined)) {
        refuse(path, 'must have either atMost or atLeast', question.atMost === undefined ? 'neither' : 'both');
      }
      break;
    case 'ranking':
      break;
    default:
      question satisfies never;
  }
  unique(question.items, `${path}.items`, refuse);
  for (const [k, item] of question.items.entries()) {
    checkFigure(lesson, `${path}.items.${k}.figure`, item.figure, refuse);
  }
}

function checkOptionRanges(path: string, options: readonly { from?: number; to?: number }[], refuse: Refuse): void {
  const ranges = options
    .filter(({ from, to }) => from !== undefined || to !== undefined)
    .map(({ from = -Infinity, to = Infinity }) => ({ from, to }))
    .sort((a, b) => a.from - b.from);
  if (ranges.length === 0) refuse(path, 'at least one must have a range', 'none');
  for (const [k, { from, to }] of ranges.entries()) {
    if (!(from < to)) refuse(path, 'from must be below to', `${from} to ${to}`);
    if (k > 0 && from < ranges[k - 1].to) refuse(path, 'ranges must not overlap', `from ${from}`);
  }
}

function checkRules(lesson: Lesson, refuse: Refuse): void {
  const sum = lesson.outcome.reduce((total, { points }) => total + points, 0);
  if (sum !== PART_POINTS.outcome) refuse('outcome', `points must add up to ${PART_POINTS.outcome}`, sum);
  for (const [k, { figure, gain, full, none, provided }] of lesson.outcome.entries()) {
    checkFigure(lesson, `outcome.${k}.figure`, figure, refuse);
    if (gain) checkLane(lesson, `outcome.${k}.gain`, gain.run, gain.lane, refuse);
    if (provided) {
      checkFigure(lesson, `outcome.${k}.provided.figure`, provided.figure, refuse);
      if ((provided.atMost === undefined) === (provided.atLeast === undefined)) {
        refuse(`outcome.${k}.provided`, 'must have either atMost or atLeast', provided.atMost ?? 'neither');
      }
    }
    if (!(full !== none)) refuse(`outcome.${k}.none`, 'must differ from full', none);
  }
}

/** The standard players must be able to play: their settings allowed, their questions asked here. */
function checkPlayers(lesson: Lesson, refuse: Refuse): void {
  const questions = [...lesson.predictions, ...lesson.measurements, ...lesson.explanations];
  for (const name of ['textbook', 'careless'] as const) {
    const player = lesson.players[name];
    const { answers } = player;
    const settings = settingsOf(lesson, player, '');
    for (const id of Object.keys(settings)) {
      const setting = lesson.settings.find((entry) => entry.id === id);
      if (!setting) refuse(`players.${name}.settings.${id}`, 'must be a setting of this lesson', id);
    }
    for (const setting of lesson.settings) {
      const value = Object.hasOwn(settings, setting.id) ? settings[setting.id] : undefined;
      const rule = settingRule(setting, value);
      if (rule !== null) refuse(`players.${name}.settings.${setting.id}`, rule, value ?? 'nothing');
    }
    for (const [id, answer] of Object.entries(answers)) {
      const question = questions.find((entry) => entry.id === id);
      if (!question) refuse(`players.${name}.answers.${id}`, 'must be a question of this lesson', id);
      else if (!isAnswerTo(question, answer))
        refuse(`players.${name}.answers.${id}`, 'must answer the question', answer);
    }
  }
}

function unique(entries: readonly { id: string }[], path: string, refuse: Refuse): void {
  const seen = new Set<string>();
  for (const { id } of entries) {
    if (seen.has(id)) refuse(path, 'ids must differ', id);
    seen.add(id);
  }
}

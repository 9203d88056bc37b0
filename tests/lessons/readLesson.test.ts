import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { BENCH_SEED, hiddenSeed } from '../../src/lessons/lessonRun.ts';
import { readLessonText } from '../../src/lessons/lessonText.ts';
import { LessonError, readLesson } from '../../src/lessons/readLesson.ts';
import { lesson, lessonDocument, lessonSlugs, lessonText } from './lessonFolders.ts';

// biome-ignore lint/suspicious/noExplicitAny: the point is to break documents in every way
type Loose = any;

describe('every lesson folder', () => {
  it('is one of at least three', () => {
    expect(lessonSlugs.length).toBeGreaterThanOrEqual(3);
  });

  it.each(lessonSlugs)('%s: holds a good lesson of its own name, all texts, and a test that plays it', (slug) => {
    expect(lesson(slug).id).toBe(slug);
    for (const file of ['introduction.md', 'tasks.md', 'hints.md', 'model-answer.md', 'design.md']) {
      expect(lessonText(slug, file).length, file).toBeGreaterThan(200);
    }
    const test = fileURLToPath(new URL(`./${slug}.test.ts`, import.meta.url));
    expect(existsSync(test), test).toBe(true);
  });

  it.each(lessonSlugs)('%s: hidden patients are never the one on the bench', (slug) => {
    const seeds = new Set(['7', 'bench', ''].map((attemptSeed) => hiddenSeed(lesson(slug), attemptSeed, 0)));
    expect(seeds.size).toBe(3);
    expect(seeds.has(BENCH_SEED)).toBe(false);
  });
});

describe('readLesson refuses', () => {
  const cases: [why: string, breakIt: (document: Loose) => void, message: string][] = [
    ['an unknown key', (d) => (d.colour = 'red'), 'colour: unknown key, got "red"'],
    ['an unknown key deep inside', (d) => (d.runs[0].speed = 2), 'runs.0.speed: unknown key, got 2'],
    ['a free control that is none', (d) => (d.controls = { free: ['eeg.loud'] }), 'controls.free.0: must be a key of'],
    ['a section for a free control', (d) => (d.controls = { free: ['child.quiet'] }), 'controls.free.0: must be a key'],
    [
      'a control both free and hidden',
      (d) => (d.controls = { free: ['eeg.slowUv'], hidden: ['eeg'] }),
      'controls.free.0: must not be hidden, got "eeg.slowUv"',
    ],
    [
      'a hidden control that is none',
      (d) => (d.controls = { hidden: ['loud'] }),
      'controls.hidden.0: must be a key or',
    ],
    [
      'a free control beside unlabelled patients',
      (d) => {
        d.controls = { free: ['eeg.slowUv'] };
        d.runs[0].case = 1;
      },
      'controls.free: must be none where patients are unlabelled',
    ],
    [
      'a hidden setting',
      (d) => (d.controls = { hidden: [d.settings.find((setting: Loose) => setting.path).path] }),
      'controls.hidden.0: must not hide the setting',
    ],
    ['a missing key', (d) => delete d.title, 'title: must be given, got nothing'],
    ['another format', (d) => (d.format = 2), 'format: must be 1, got 2'],
    ['a version that is no number', (d) => (d.version = 'two'), 'version: must be integer, got "two"'],
    ['a supply that is written down', (d) => (d.lineHz = 50), 'lineHz: must not be written'],
    [
      'an id with spaces',
      (d) => (d.id = 'two words'),
      'id: must be a short name: a-z, 0-9 and single -, got "two words"',
    ],
    ['too few patients for an interval', (d) => (d.hidden.replicates = 2), 'hidden.replicates: must be'],
    ['a patient count that is no number', (d) => (d.hidden.replicates = null), 'hidden.replicates: must be'],
    [
      'an unknown policy of seeds',
      (d) => (d.hidden.seeds = 'lucky'),
      'hidden.seeds: must be per-attempt or shared or per-learner, got "lucky"',
    ],
    [
      'an unknown kind of question',
      (d) => (d.predictions[0].kind = 'essay'),
      'predictions.0.kind: must be one of number, ranking, choice, yes-no, claims, got "essay"',
    ],
    ['an unknown key of a question', (d) => (d.predictions[0].hint = 'x'), 'predictions.0.hint: unknown key, got "x"'],
    ['a question without unit', (d) => delete d.predictions[0].unit, 'predictions.0.unit: must be given, got nothing'],
    [
      'an unknown figure',
      (d) => (d.predictions[0].figure.figure = 'beauty'),
      'predictions.0.figure.figure: must be one of residual-noise,',
    ],
    [
      'a figure without its target',
      (d) => delete d.predictions[0].figure.targetNv,
      'predictions.0.figure.targetNv: must be given, got nothing',
    ],
    [
      'a figure of a run that is not there',
      (d) => (d.predictions[0].figure.run = 'inez'),
      'predictions.0.figure: must be a run of this lesson, got "inez"',
    ],
    [
      'a figure of a lane that is not there',
      (d) => (d.predictions[0].figure.lane = 'magic'),
      'predictions.0.figure: lane must be one of plain-mean,',
    ],
    [
      'a ratio of a bad figure',
      (d) => (d.predictions[3].figure.of.run = 'inez'),
      'predictions.3.figure.of: must be a run of this lesson, got "inez"',
    ],
    [
      'points that do not add up',
      (d) => (d.predictions[0].points = 6),
      'predictions: points must add up to 20 with confidencePoints, got 22',
    ],
    ['rules that do not add up', (d) => (d.outcome[0].points = 1), 'outcome: points must add up to 40, got 16'],
    [
      'a rule without a slope',
      (d) => (d.outcome[0].none = d.outcome[0].full),
      'outcome.0.none: must differ from full, got 44',
    ],
    [
      'a number with two rules',
      (d) => (d.predictions[0].tolerance = 5),
      'predictions.0: must have either scale or tolerance, got "both"',
    ],
    [
      'a number with no rule',
      (d) => delete d.predictions[0].scale,
      'predictions.0: must have either scale or tolerance, got "neither"',
    ],
    [
      'a choice without a right option',
      (d) =>
        d.measurements[2].options.forEach((o: Loose) => {
          delete o.from;
          delete o.to;
        }),
      'measurements.2.options: at least one must have a range, got "none"',
    ],
    [
      'options whose ranges overlap',
      (d) => (d.measurements[2].options[0].to = 20),
      'measurements.2.options: ranges must not overlap, got "from 8"',
    ],
    [
      'two questions of one id',
      (d) => (d.predictions[1].id = 'sweeps-80'),
      'questions and rules: ids must differ, got "sweeps-80"',
    ],
    ['two runs of one id', (d) => (d.runs[1].id = 'ines'), 'runs: ids must differ, got "ines"'],
    [
      'a lesson without a bench run',
      (d) => {
        for (const run of d.runs) run.bench = false;
      },
      'runs: must have one for the bench, got "none"',
    ],
    [
      'a setting that the scenario has not',
      (d) => (d.settings[0].path = 'session.hours'),
      'settings.0.path: must be a number of the scenario, got "session.hours"',
    ],
    [
      'a setting that is inherited by every object',
      (d) => (d.settings[0].path = 'session.constructor'),
      'settings.0.path: must be a number of the scenario',
    ],
    [
      'a setting wider than the scenario allows',
      (d) => (d.settings[0].maximum = 9999),
      'settings.0.maximum: must be <= 7200, got 9999',
    ],
    [
      'a setting that starts outside',
      (d) => (d.settings[0].start = 500),
      'settings.0.start: must be from 10 to 200 s, got 500',
    ],
    [
      'a run with an unknown setting',
      (d) => (d.runs[2].settings = ['speed']),
      'runs.2.settings: must name settings of this lesson, got "speed"',
    ],
    [
      'a run with a bad change',
      (d) => (d.runs[1].change['eeg.slowUv'] = -1),
      'runs.1 (double): eeg.slowUv: must be a number from 0 to 200 µV rms, got -1',
    ],
    [
      'a run with a change of no key',
      (d) => (d.runs[1].change['eeg.colour'] = 1),
      'runs.1 (double): eeg.colour: unknown key',
    ],
    ['an unknown preset', (d) => (d.scenario = 'nobody'), 'runs.0 (ines): unknown scenario "nobody"'],
    [
      'a bad patient',
      (d) => (d.scenario.session.durationS = 'long'),
      'runs.0 (ines): session.durationS: must be a number',
    ],
    [
      'a varied strategy of no name',
      (d) => (d.runs[0].vary = [{ strategy: 'magic', parameter: 'x', values: [1] }]),
      'runs.0.vary.0.strategy: must be one of plain-mean,',
    ],
    [
      'a varied parameter of no name',
      (d) => (d.runs[0].vary = [{ strategy: 'kalman', parameter: 'x', values: [1] }]),
      'runs.0.vary.0.parameter: must be one of processNoiseUv2,',
    ],
    ['a strategy of no name', (d) => (d.runs[0].strategies = ['magic']), 'runs.0.strategies: must be of plain-mean,'],
    [
      'a lane that the run does not mark',
      (d) => (d.runs[0].strategies = ['kalman']),
      'predictions.0.figure: lane must be one of kalman, got "plain-mean"',
    ],
    [
      'a lane of a setting that names none',
      (d) => (d.predictions[0].figure.lane = 'setting:planned-seconds'),
      'predictions.0.figure: must be a choice of this lesson whose options are lanes, got "setting:planned-seconds"',
    ],
    [
      'a player who sets what is not allowed',
      (d) => (d.players.careless.settings['planned-seconds'] = 5),
      'players.careless.settings.planned-seconds: must be from 10 to 200 s, got 5',
    ],
    [
      'a player who answers what is not asked',
      (d) => (d.players.textbook.answers.colour = 'red'),
      'players.textbook.answers.colour: must be a question of this lesson, got "colour"',
    ],
    [
      'a player who answers with no option',
      (d) => (d.players.textbook.answers.scatter = 'maybe'),
      'players.textbook.answers.scatter: must answer the question, got "maybe"',
    ],
    ['a report of no run', (d) => (d.report.run = 'inez'), 'report.run: must be a run of this lesson, got "inez"'],
  ];
  it.each(cases)('%s', (_why, breakIt, message) => {
    const document = lessonDocument('quieter-by-the-root');
    breakIt(document);
    expect(() => readLesson(document, 'x/lesson.yaml')).toThrow(LessonError);
    expect(() => readLesson(document, 'x/lesson.yaml')).toThrow(`x/lesson.yaml: ${message}`);
  });

  it.each([[null], [[]], ['text'], [undefined], [42]])('%j for a lesson', (document) => {
    expect(() => readLesson(document, 'x/lesson.yaml')).toThrow('x/lesson.yaml: lesson: must be');
  });
});

describe('readLessonText', () => {
  const text = lessonText('quieter-by-the-root', 'lesson.yaml');
  const cases = [
    // change of the text, refusal, why
    [(t: string) => t.replace('minutes: 25', 'minutes: 0'), /^x\.yaml:8: minutes: must be/, 'the line of the value'],
    [
      (t: string) => t.replace('kind: choice', 'kind: essay'),
      /^x\.yaml:\d{2,3}: \w+\.\d\.kind: must be one of/,
      'deep inside',
    ],
    [(t: string) => t.replace(/^title:.*\n/m, ''), /^x\.yaml:1: title: must be given/, 'a missing key: the group'],
    [(t: string) => t.replace('minutes: 25', 'minutes: [25'), /^x\.yaml:\d+: /, 'no YAML'],
    [
      (t: string) => t.replace('minutes: 25', 'minutes: 25\nminutes: 26'),
      /^x\.yaml:9: Map keys must be unique/,
      'twice',
    ],
    [() => '', /^x\.yaml:1: lesson: must be/, 'an empty file'],
    [() => '{"format": 1, "format": 1}', /^x\.yaml:1: /, 'JSON is YAML'],
    [() => `a: &a [x]\nb: [${'*a, '.repeat(200)}*a]`, /^x\.yaml: /, 'more aliases than the parser allows'],
    [() => '['.repeat(100_000), /^x\.yaml/, 'nested without end'],
  ] as const;
  it.each(cases)('%s: %s: %s', (change, refusal) => {
    expect(() => readLessonText(change(text), 'x.yaml')).toThrow(LessonError);
    expect(() => readLessonText(change(text), 'x.yaml')).toThrow(refusal);
  });

  it.each(lessonSlugs)('%s: is good for a supply of 60 Hz too, and leaves no variant unpicked', (slug) => {
    const there = lesson(slug, 60);
    expect(there.lineHz).toBe(60);
    expect(JSON.stringify(there)).not.toMatch(/\[\[|at50|at60/);
  });
});

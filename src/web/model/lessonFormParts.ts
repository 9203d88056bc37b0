/** A field of the authoring form: a key of the manifest and how it is written. */
export interface FormField {
  key: string;
  label: string;
  /** Words stay words; a value may be a number, true, a list or a group; lines are a list, one entry a line. */
  as: 'words' | 'value' | 'lines' | readonly string[];
}

/** A part of the form with plain fields; keys with dots lead into groups. */
export interface FormPart {
  title: string;
  fields: readonly FormField[];
}

const words = (key: string, label: string): FormField => ({ key, label, as: 'words' });
const value = (key: string, label: string): FormField => ({ key, label, as: 'value' });
const lines = (key: string, label: string): FormField => ({ key, label, as: 'lines' });

export const aboutPart: FormPart = {
  title: 'About',
  fields: [
    words('id', 'Short name (that of the folder)'),
    value('version', 'Version'),
    words('title', 'Title'),
    words('summary', 'Summary'),
    value('place', 'Place in the list'),
    value('bundles', 'Bundles, as [in-service, engineer]'),
    value('minutes', 'Minutes it takes'),
    lines('objectives', 'Objectives, one a line'),
    lines('outOfScope', 'Out of scope, one a line'),
    lines('prerequisites', 'Prerequisites, one a line'),
    lines('debrief', 'Looking back, one paragraph a line'),
  ],
};

export const rulesPart: FormPart = {
  title: 'Seeds, attempts, time, marks',
  fields: [
    { key: 'hidden.seeds', label: 'Hidden patients', as: ['per-attempt', 'shared', 'per-learner'] },
    value('hidden.replicates', 'Hidden patients of each run'),
    value('attemptLimit', 'Attempts at most (empty: no limit)'),
    value('timeLimitMinutes', 'Minutes at most (empty: no limit)'),
    value('hintCostPoints', 'Points that a hint costs'),
    value('confidencePoints', 'Points for confidence, of the 20 for predictions'),
    words('report.run', 'Run whose seconds are reported'),
    value('report.targetNv', 'Target of that report, nV'),
  ],
};

export const essayPart: FormPart = {
  title: 'A text in own words',
  fields: [
    words('essay.prompt', 'What is asked'),
    value('essay.minimumWords', 'Words at least'),
    value('essay.maximumWords', 'Words at most'),
    lines('essay.rubric', 'What a good text has, one a line'),
  ],
};

/** A list of the manifest whose entries are edited one by one. */
export interface FormList {
  key: string;
  title: string;
  /** What one entry is called. */
  one: string;
  note: string;
  /** Keys with a field each; the others of an entry are written as YAML below them. */
  fields: readonly FormField[];
  /** What a new entry begins with. */
  fresh: Readonly<Record<string, object>>;
}

const figure = { figure: 'residual-noise', run: 'patient', lane: 'plain-mean' };
const freshQuestions = {
  number: { kind: 'number', id: 'new-number', text: 'How much?', unit: 'nV', points: 5, tolerance: 10, figure },
  choice: {
    kind: 'choice',
    id: 'new-choice',
    text: 'Which?',
    points: 5,
    figure,
    options: [
      { id: 'low', text: 'Below 50 nV', to: 50 },
      { id: 'high', text: '50 nV or more', from: 50 },
    ],
  },
  ranking: {
    kind: 'ranking',
    id: 'new-ranking',
    text: 'Order these, lowest first.',
    points: 5,
    tie: 0.1,
    items: [
      { id: 'mean', text: 'The plain mean', figure },
      { id: 'blocks', text: 'Blocks with weights', figure: { ...figure, lane: 'block-weighting' } },
    ],
  },
  'yes-no': {
    kind: 'yes-no',
    id: 'new-yes-no',
    text: 'Which of these stay below 50 nV?',
    points: 5,
    atMost: 50,
    items: [
      { id: 'mean', text: 'The plain mean', figure },
      { id: 'blocks', text: 'Blocks with weights', figure: { ...figure, lane: 'block-weighting' } },
    ],
  },
  claims: {
    kind: 'claims',
    id: 'new-claims',
    text: 'Which of these facts support it?',
    points: 5,
    pick: 1,
    claims: [
      { id: 'mean-low', text: 'The plain mean is below 50 nV', figure, to: 50 },
      { id: 'mean-high', text: 'The plain mean is above 50 nV', figure, from: 50 },
    ],
  },
};
const questionFields = [
  words('text', 'Question'),
  words('id', 'Short name'),
  value('points', 'Points'),
  words('unit', 'Unit'),
  value('tolerance', 'Tolerance'),
  value('scale', 'Scale of a guess'),
  value('pick', 'How many to pick'),
];
const questions = (key: string, title: string, note: string): FormList => {
  return { key, title, one: 'question', note, fields: questionFields, fresh: freshQuestions };
};

/** The lists of the manifest, in the order in which a lesson is played. */
export const formLists: readonly FormList[] = [
  {
    key: 'settings',
    title: 'Settings that the learner makes, and that are marked',
    one: 'setting',
    note: 'A free control of the bench with bounds, or a choice. Options of a choice are written as YAML.',
    fields: [
      words('text', 'What the learner reads'),
      words('id', 'Short name'),
      words('path', 'Key of the scenario'),
      words('unit', 'Unit'),
      value('minimum', 'Lowest'),
      value('maximum', 'Highest'),
      value('start', 'At the start'),
      words('diagnosisOf', 'Run of which it is the diagnosis'),
    ],
    fresh: {
      number: {
        ...{ kind: 'number', id: 'new-setting', path: 'stimulus.ratePerS', text: 'Clicks a second', unit: '/s' },
        ...{ minimum: 5, maximum: 60, start: 20 },
      },
      choice: {
        kind: 'choice',
        id: 'new-choice',
        text: 'Strategy',
        start: 'plain-mean',
        options: [
          { id: 'plain-mean', text: 'the plain mean' },
          { id: 'block-weighting', text: 'blocks with weights' },
        ],
      },
    },
  },
  {
    key: 'runs',
    title: 'Runs',
    one: 'run',
    note: 'What is on the bench, and what is only marked. Changes are keys of the scenario, as in { muscle.burstsPerS: 0 }.',
    fields: [
      words('title', 'Title'),
      words('id', 'Short name'),
      value('bench', 'On the bench: true or false'),
      value('settings', 'Settings it takes, as [a, b]'),
      value('strategies', 'Strategies, as [plain-mean, block-weighting]'),
      value('change', 'Changes'),
      value('case', 'Place among the cases'),
      value('replicates', 'Hidden patients, if others'),
    ],
    fresh: { run: { id: 'new-run', title: 'Another patient', bench: true, settings: [], strategies: ['plain-mean'] } },
  },
  questions('predictions', 'Predictions: 20 points', 'Asked before anything is run.'),
  {
    key: 'outcome',
    title: 'Outcome: 40 points',
    one: 'rule',
    note: 'All points where the figure is at “full”, none at “none”, in proportion between.',
    fields: [
      words('text', 'What is achieved'),
      words('id', 'Short name'),
      value('points', 'Points'),
      value('full', 'Full'),
      value('none', 'None'),
    ],
    fresh: { rule: { id: 'new-rule', text: 'The residual noise is low', points: 10, figure, full: 40, none: 100 } },
  },
  questions('measurements', 'Measurements: 20 points', 'Asked once the seal is broken.'),
  questions('explanations', 'Explanations: 20 points', 'Why it is so, and which evidence shows it.'),
];

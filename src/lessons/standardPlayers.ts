import { nextUniform, type Stream, stream } from '../core/random/stream.ts';
import type { FigureSource } from './figureParts.ts';
import type { Settings } from './lessonRun.ts';
import { caseOf, choosesLane, isWhole, runOf, startSettings } from './lessonRun.ts';
import type { Answer, Answers } from './markQuestion.ts';
import { rightAnswer } from './rightAnswer.ts';
import type { Lesson, Question, Setting } from './schema.ts';

/** What a player knows besides the lesson: the figures of other patients than those that will be marked. */
interface PlayerKnowledge {
  seed: string;
  /** Many other patients, with the settings that the textbook player chooses. */
  many: FigureSource;
  /** One of them. */
  one: FigureSource;
}

/** A standard player of the dry run. */
export interface StandardPlayer {
  id: string;
  /** What this one does, in words. */
  text: string;
  /** Whether a fair lesson gives this one a good mark. */
  good: boolean;
  settings(lesson: Lesson, seed: string): Settings;
  answers(lesson: Lesson, knowledge: PlayerKnowledge): Answers;
  /** Percent, said of every prediction. */
  confidence(lesson: Lesson): number;
  /** Looks at unlabelled patients; none if it is left out. */
  looks?(lesson: Lesson): number | undefined;
}

/** The ten standard players, then one for each strategy that a lesson lets the learner choose. */
export function standardPlayers(lesson: Lesson): StandardPlayer[] {
  const believers = lesson.settings.flatMap((setting) =>
    choosesLane(setting) ? setting.options.map(({ id, text }) => believer(setting.id, id, text)) : [],
  );
  return [...tenPlayers, ...believers];
}

const textbookAnswers = ({ players }: Lesson): Answers => players.textbook.answers;
const textbookLooks = ({ players }: Lesson) => players.textbook.looks;
const textbookSettings = (lesson: Lesson, seed: string): Settings => settingsOf(lesson, lesson.players.textbook, seed);
/** The settings of a player of the manifest, with a diagnosis of each unlabelled patient of this attempt. */
export function settingsOf(lesson: Lesson, player: Lesson['players']['textbook'], seed: string): Settings {
  const settings = { ...player.settings };
  for (const setting of lesson.settings) {
    if (setting.kind !== 'choice' || setting.diagnosisOf === undefined || setting.id in settings) continue;
    const found = caseOf(lesson, runOf(lesson, setting.diagnosisOf), seed)?.id ?? '';
    settings[setting.id] = player.diagnoses?.[found] ?? found;
  }
  return settings;
}

const guesses = (lesson: Lesson, { seed }: PlayerKnowledge): Answers => {
  const random = stream(seed, 'dry-run/guess');
  return Object.fromEntries(allQuestions(lesson).map((question) => [question.id, guess(question, random)]));
};
const half = () => 50;

const tenPlayers: readonly StandardPlayer[] = [
  {
    id: 'silent',
    text: 'touches nothing and answers nothing',
    good: false,
    settings: startSettings,
    answers: () => ({}),
    confidence: half,
  },
  {
    id: 'lucky',
    text: 'settings and answers by chance',
    good: false,
    settings: (lesson, seed) => {
      const random = stream(seed, 'dry-run/settings');
      return Object.fromEntries(lesson.settings.map((setting) => [setting.id, chance(setting, random)]));
    },
    answers: guesses,
    confidence: half,
  },
  {
    id: 'lowest',
    text: 'every setting at its lowest or first, answers by chance',
    good: false,
    settings: (lesson) => Object.fromEntries(lesson.settings.map((setting) => [setting.id, ends(setting)[0]])),
    answers: guesses,
    confidence: half,
  },
  {
    id: 'highest',
    text: 'every setting at its highest or last, answers by chance',
    good: false,
    settings: (lesson) => Object.fromEntries(lesson.settings.map((setting) => [setting.id, ends(setting)[1]])),
    answers: guesses,
    confidence: half,
  },
  {
    id: 'reader',
    text: 'answers like the textbook, but leaves the settings where they stood',
    good: false,
    settings: startSettings,
    answers: textbookAnswers,
    confidence: ({ players }) => players.textbook.confidence ?? 50,
  },
  {
    id: 'doer',
    text: 'sets like the textbook, answers by chance',
    good: false,
    settings: textbookSettings,
    looks: textbookLooks,
    answers: guesses,
    confidence: half,
  },
  {
    id: 'careless',
    text: 'holds the misconceptions that the lesson is about, and is sure of them',
    good: false,
    settings: (lesson, seed) => settingsOf(lesson, lesson.players.careless, seed),
    looks: ({ players }) => players.careless.looks,
    answers: ({ players }) => players.careless.answers,
    confidence: ({ players }) => players.careless.confidence ?? 90,
  },
  {
    id: 'one-patient',
    text: 'sets like the textbook, takes one patient for the law',
    good: true,
    settings: textbookSettings,
    looks: textbookLooks,
    answers: (lesson, { one }) => truths(lesson, one),
    confidence: () => 80,
  },
  {
    id: 'textbook',
    text: 'knows the law and the texts of the lesson',
    good: true,
    settings: textbookSettings,
    looks: textbookLooks,
    answers: textbookAnswers,
    confidence: ({ players }) => players.textbook.confidence ?? 50,
  },
  {
    id: 'expert',
    text: 'has seen many such patients, though not these',
    good: true,
    settings: textbookSettings,
    looks: textbookLooks,
    answers: (lesson, { many }) => truths(lesson, many),
    confidence: () => 95,
  },
];

function believer(settingId: string, option: string, text: string): StandardPlayer {
  return {
    id: `always-${option}`,
    text: `the textbook, but always with ${text}`,
    good: false,
    settings: (lesson, seed) => ({ ...textbookSettings(lesson, seed), [settingId]: option }),
    looks: textbookLooks,
    answers: textbookAnswers,
    confidence: ({ players }) => players.textbook.confidence ?? 50,
  };
}

function allQuestions({ predictions, measurements, explanations }: Lesson): Question[] {
  return [...predictions, ...measurements, ...explanations];
}

function truths(lesson: Lesson, source: FigureSource): Answers {
  return Object.fromEntries(allQuestions(lesson).map((question) => [question.id, rightAnswer(question, source)]));
}

function ends(setting: Setting): [number | string, number | string] {
  if (setting.kind === 'number') return [setting.minimum, setting.maximum];
  return [setting.options[0].id, setting.options[setting.options.length - 1].id];
}

function chance(setting: Setting, random: Stream): number | string {
  if (setting.kind === 'number') {
    const value = setting.minimum + nextUniform(random) * (setting.maximum - setting.minimum);
    return isWhole(setting) ? Math.round(value) : value;
  }
  return pick(setting.options, random).id;
}

function guess(question: Question, random: Stream): Answer {
  switch (question.kind) {
    case 'number':
      return 10 ** Math.floor(4 * nextUniform(random)); // 1, 10, 100 or 1000: a wild guess
    case 'choice':
      return pick(question.options, random).id;
    case 'ranking':
      return shuffled(question.items, random);
    case 'yes-no':
      return Object.fromEntries(question.items.map(({ id }) => [id, nextUniform(random) < 0.5]));
    case 'claims':
      return shuffled(question.claims, random).slice(0, question.pick);
    default:
      return question satisfies never;
  }
}

function pick<T>(entries: readonly T[], random: Stream): T {
  return entries[Math.floor(nextUniform(random) * entries.length)];
}

function shuffled(entries: readonly { id: string }[], random: Stream): string[] {
  return entries
    .map(({ id }) => ({ id, at: nextUniform(random) }))
    .sort((a, b) => a.at - b.at)
    .map(({ id }) => id);
}

import { averagingStrategy } from '../../core/averaging/index.ts';
import { presets } from '../../core/scenario/presets.ts';
import { withOverrides } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { scenarioKey } from '../../study/scenarioKey.ts';
import type { Competitor, Scalar, ScenarioEntry, StudyDocument } from '../../study/schema.ts';
import { StudyError } from '../../study/studyError.ts';
import { changedSettings } from './scenarioLink.ts';

/** The patient on the bench, as a choice of the form. */
export const ON_BENCH = 'bench';

/** One line of patients: which, and whether they are kept apart for the test. */
interface PatientLine {
  scenario: string;
  sealed: boolean;
}

/** One line of strategies: texts as they were typed, lists with commas; empty for the usual value. */
interface StrategyLine {
  strategy: string;
  flagAware: boolean;
  values: Record<string, string>;
}

/** A study as it stands in the form. All numbers are texts: what cannot be is refused when the study is made. */
export interface StudyForm {
  question: string;
  seed: string;
  patients: PatientLine[];
  /** Length of every session, s; empty: as the patient has it. */
  durationS: string;
  /** A key of the scenario and its values; empty for none. */
  varyKey: string;
  varyValues: string;
  strategies: StrategyLine[];
  /** Replicates; the least of them with a precision. */
  replicates: string;
  /** Whether more are run until the interval of the first measure is narrow enough. */
  toPrecision: boolean;
  halfWidthPercent: string;
  mostReplicates: string;
  measures: string[];
}

/** A study that somebody can start from: one minute of the bench's patient, thresholds against weighting in blocks. */
export function firstForm(): StudyForm {
  return {
    question: 'Which setting leaves the least noise?',
    seed: '1',
    patients: [{ scenario: ON_BENCH, sealed: false }],
    durationS: '60',
    varyKey: '',
    varyValues: '',
    strategies: [
      { strategy: 'plain-mean', flagAware: false, values: {} },
      { strategy: 'threshold-rejection', flagAware: false, values: { thresholdUv: '8, 15, 30' } },
      { strategy: 'block-weighting', flagAware: false, values: { blockLength: '8, 32, 128' } },
    ],
    replicates: '12',
    toPrecision: false,
    halfWidthPercent: '10',
    mostReplicates: '48',
    measures: ['residual-noise', 'seconds-to-target', 'gain'],
  };
}

/**
 * Makes a study of the form.
 *
 * @param bench - the patient on the bench, for lines that name it
 * @throws {StudyError} naming the field, the rule and what was typed
 */
export function studyOfForm(form: StudyForm, bench: Scenario): StudyDocument {
  const entries = form.patients.map((line) => ({ line, entry: patientOf(line, form, bench) }));
  const train = entries.filter(({ line }) => !line.sealed).map(({ entry }) => entry);
  const test = entries.filter(({ line }) => line.sealed).map(({ entry }) => entry);
  if (train.length === 0) throw new StudyError('Patients: at least one must not be sealed, got none');
  if (form.strategies.length === 0) throw new StudyError('Strategies: must be at least one, got none');
  if (form.measures.length === 0) throw new StudyError('Measures: must be at least one, got none');
  const question = form.question.trim();
  if (question === '') throw new StudyError('Question: must be a sentence, got nothing');
  return {
    version: 1,
    id: nameOf(question),
    question,
    seed: form.seed.trim() || '1',
    scenarios: train,
    ...(test.length > 0 ? { test } : {}),
    ...(form.varyKey.trim() === '' ? {} : { vary: { [form.varyKey.trim()]: varied(form) } }),
    strategies: form.strategies.map(competitorOf),
    replicates: form.toPrecision
      ? {
          from: wholeNumber('Patients at least', form.replicates),
          to: wholeNumber('Patients at most', form.mostReplicates),
          until: { measure: form.measures[0], halfWidthPercent: oneNumber('Half-width', form.halfWidthPercent) },
        }
      : wholeNumber('Patients', form.replicates),
    measures: form.measures,
  };
}

function patientOf({ scenario, sealed }: PatientLine, form: StudyForm, bench: Scenario): ScenarioEntry {
  const duration = form.durationS.trim();
  const set = duration === '' ? {} : { set: { 'session.durationS': oneNumber('Session', duration) } };
  if (scenario !== ON_BENCH) return { id: sealed ? `${scenario}-sealed` : scenario, scenario, ...set };
  const changes = changedSettings(bench);
  const base = presets.find(({ id }) => id === bench.id);
  const id = `${nameOf(bench.id || 'bench')}-on-the-bench${sealed ? '-sealed' : ''}`;
  const whole =
    base && changes.length === 0 ? base.id : (withOverrides(base ?? {}, changes) as Record<string, unknown>);
  return { id, scenario: whole, ...set };
}

function varied({ varyKey, varyValues }: StudyForm): Scalar[] {
  const path = varyKey.trim();
  const schema = scenarioKey(path);
  if (!schema || schema.properties) throw new StudyError(`Vary: must be a key of the scenario, got "${path}"`);
  if (varyValues.trim() === '') throw new StudyError(`Values of ${path}: must be a list, got nothing`);
  const isNumber = schema.type === 'number' || schema.type === 'integer';
  return isNumber ? numberList(`Values of ${path}`, varyValues) : wordsOf(varyValues).map(wordOrSwitch);
}

function competitorOf({ strategy, flagAware, values }: StrategyLine): Competitor {
  const { label } = averagingStrategy(strategy);
  const parameters = Object.entries(values).flatMap(([key, text]) => {
    if (text.trim() === '') return [];
    const list = numberList(`${label}, ${key}`, text);
    return [[key, list.length === 1 ? list[0] : list] as const];
  });
  return {
    strategy,
    ...(flagAware ? { flagAware } : {}),
    ...(parameters.length > 0 ? { parameters: Object.fromEntries(parameters) } : {}),
  };
}

function numberList(field: string, text: string): number[] {
  return wordsOf(text).map((word) => oneNumber(field, word));
}

function wordsOf(text: string): string[] {
  return text.split(/[,;\s]+/).filter((word) => word !== '');
}

function wordOrSwitch(word: string): Scalar {
  return word === 'true' ? true : word === 'false' ? false : word;
}

function oneNumber(field: string, text: string): number {
  const value = Number(text);
  if (text.trim() !== '' && Number.isFinite(value)) return value;
  throw new StudyError(`${field}: must be a number, got "${text}"`);
}

function wholeNumber(field: string, text: string): number {
  const value = text.trim() === '' ? NaN : Number(text);
  if (Number.isInteger(value) && value >= 1) return value;
  throw new StudyError(`${field}: must be a whole number from 1, got "${text}"`);
}

/** A short name out of words: `Which setting leaves …` → `which-setting-leaves-the-least-noise`. */
function nameOf(words: string): string {
  const plain = words.toLowerCase().match(/[a-z0-9]+/g) ?? ['study'];
  return plain.join('-').slice(0, 40).replace(/-$/, '');
}

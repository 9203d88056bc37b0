import { pickupByPath } from '../core/noise/pickupPaths.ts';
import { type FigureSource, type FigureValue, phrase } from './figureParts.ts';
import { caseOf, runOf, scenarioOf, settingOf } from './lessonRun.ts';
import type { Figure } from './schema.ts';

type OfKind<Kind> = Extract<Figure, { figure: Kind }>;

/**
 * Pickup from the supply at the electrodes of the ipsilateral channel, µV peak: one path, or all of them.
 *
 *     √(Σ path, harmonic  V²)
 *
 * Worked out from leads, contacts and room, before any filter; phases differ, so powers add. Needs no hidden patients.
 */
export function pickupFigure({ run: runId, path }: OfKind<'pickup'>, source: FigureSource): FigureValue {
  const run = runOf(source.lesson, runId);
  const paths = pickupByPath(scenarioOf(source.lesson, run, source.settings, source.attemptSeed));
  const chosen = paths.filter((entry) => path === undefined || entry.path === path);
  const uv = Math.sqrt(chosen.reduce((sum, { totalUv }) => sum + totalUv[0] * totalUv[0], 0));
  const what = path === undefined ? 'pickup from the supply' : chosen[0].label;
  return phrase(uv, 'µV', `${what} in “${run.title}”`);
}

/** How many of some settings the learner moved from where they stood. */
export function changedFigure({ settings: ids }: OfKind<'changed'>, { lesson, settings }: FigureSource): FigureValue {
  const moved = ids.filter((id) => settings[id] !== settingOf(lesson, id).start);
  return phrase(moved.length, '', `things that you changed (${moved.join(', ') || 'none'})`);
}

/** 1 if the learner named the case of an unlabelled patient, else 0. */
export function diagnosisFigure({ setting: id }: OfKind<'diagnosis'>, source: FigureSource): FigureValue {
  const { lesson, settings, attemptSeed } = source;
  const setting = settingOf(lesson, id);
  const run = runOf(lesson, (setting.kind === 'choice' && setting.diagnosisOf) || '');
  const found = caseOf(lesson, run, attemptSeed);
  const value = found && settings[id] === found.id ? 1 : 0;
  return { value, unit: '', words: `“${run.title}” was: ${found?.text ?? 'no case'}` };
}

/** Looks taken at unlabelled patients; NaN for none, so that nobody is praised for not having looked. */
export function looksFigure({ lookCount = 0 }: FigureSource): FigureValue {
  return phrase(lookCount > 0 ? lookCount : NaN, '', 'different looks at unlabelled patients');
}

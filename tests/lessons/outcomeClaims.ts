import { meanOf, rmsOf } from '../../src/core/quality/replicates.ts';
import { withFewerPatients } from '../../src/lessons/dryRun.ts';
import type { RunCache } from '../../src/lessons/hiddenRuns.ts';
import { settingsOf } from '../../src/lessons/standardPlayers.ts';
import { lesson } from './lessonFolders.ts';
import { jackknife, laneOf, markNow, measured } from './marking.ts';

/**
 * Marks the textbook learner of a lesson once, and tells figures of its hidden patients with their standard errors.
 *
 * @param patients - at most so many hidden patients a run, where fewer than the lesson's tell as much
 */
export function textbookRun(slug: string, patients = 200) {
  const theLesson = withFewerPatients(lesson(slug), patients);
  const { textbook } = theLesson.players;
  const { answers, looks } = textbook;
  const attempt = { settings: settingsOf(theLesson, textbook, '1'), answers, attemptSeed: '1', lookCount: looks };
  const cache: RunCache = new Map();
  const lane = (run: string, name: string) => laneOf(measured(theLesson, run, attempt, cache), name);
  const over = (run: string, figure: (kept: number[]) => number) =>
    jackknife(measured(theLesson, run, attempt, cache).patientCount, figure);
  return {
    mark: () => markNow(theLesson, attempt, cache),
    run: (id: string) => measured(theLesson, id, attempt, cache),
    lane,
    /** Residual noise of one lane over that of another, in the same run. */
    noiseRatio: (run: string, of: string, to: string) =>
      over(run, (kept) => rmsOf(lane(run, of).noiseNv, kept) / rmsOf(lane(run, to).noiseNv, kept)),
    /** Residual noise of a lane of one run over that of a lane of another; both runs must have as many patients. */
    noiseAcross: (of: readonly [string, string], to: readonly [string, string]) =>
      over(of[0], (kept) => rmsOf(lane(...of).noiseNv, kept) / rmsOf(lane(...to).noiseNv, kept)),
    gain: (run: string, name: string) => over(run, (kept) => meanOf(lane(run, name).gain, kept)),
    /** Own noise claim over true residual noise. */
    honesty: (run: string, name: string) =>
      over(run, (kept) => rmsOf(lane(run, name).ownNoiseNv, kept) / rmsOf(lane(run, name).noiseNv, kept)),
  };
}

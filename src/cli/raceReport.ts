import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import { changesResponse, GAIN_BOUNDS, isHollow } from '../core/quality/amplitudeGain.ts';
import { FMP_PRESENT } from '../core/quality/fmp.ts';
import type { Expected } from '../core/quality/replicates.ts';
import { cautionsFor } from '../core/scenario/cautions.ts';
import { scenarioHash } from '../core/scenario/resolve.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { TRUTH_LABELS } from '../core/session/chosenTruth.ts';
import type { SweepExplanation } from '../core/session/explainSweep.ts';
import type { LaneResult } from '../core/session/laneResult.ts';
import { laneName } from '../core/session/lanes.ts';
import type { RaceResult } from '../core/session/race.ts';
import { laneTitles } from './laneOption.ts';
import { shown, textTable } from './table.ts';

/** A finished race and where it came from. */
export interface RaceReport {
  version: string;
  scenario: Scenario;
  seed: string;
  replicates: number;
  outside: readonly AveragingStrategy[];
  result: RaceResult;
  /** The background is a recording of a person. */
  isImplant: boolean;
  /** What outside strategies break of their contract. */
  contract: readonly string[];
}

/** The race as a table in order of rank, with what its columns mean. */
export function raceText(report: RaceReport): string {
  const { version, scenario, seed, replicates, result, isImplant } = report;
  const { durationS, targetNv } = scenario.session;
  const one = isImplant ? 'place' : 'patient'; // a replicate of an implant lies elsewhere in the recording
  const patients = replicates === 1 ? `1 ${one}` : `${replicates} ${one}s`;
  const header = [
    ...['', 'strategy', `s to ${targetNv} nV`, 'interval', 'sweeps', 'regret s', 'noise nV', 'interval', 'own claim'],
    ...['honesty', 'dB better', '× faster', 'gain', 'split r', 'Fmp', '3:1', 'used', 'effective'],
  ];
  const titles = laneTitles(
    result.lanes,
    result.lanes.map((lane) => laneName(lane, report.outside)),
  );
  const ranked = ranking(result.lanes);
  const rows = ranked.map((lane, k) => {
    const hindsight = lane.timing === 'hindsight' ? ' (hindsight)' : '';
    const title = `${oneLine(titles[result.lanes.indexOf(lane)])}${hindsight}`;
    return [isUnranked(lane) ? '–' : `${k + 1}.`, title, ...figures(lane)];
  });
  if (result.oracle) rows.push(['', 'oracle: knows the noise', ...figures(result.oracle)]);
  return [
    `Sweepwise ${version} · ${oneLine(scenario.title)} (${scenario.id}, ${scenarioHash(scenario)}) · seed ${seed} · ${patients} · ${Number(durationS.toFixed(1))} s`,
    ...(scenario.story ? [oneLine(scenario.story)] : []),
    '',
    textTable([header, ...rows], [0, 1]),
    '',
    `Truth: ${TRUTH_LABELS[scenario.measures.truth]}.`,
    'Rank: by the time to the target, then by the noise at the end. Regret: time lost against the oracle; a little below',
    '0 is chance, or the lane shrinks the response.',
    'Noise: true residual noise, nV rms over the analysis window, at the end; intervals: 95 % over replicate patients.',
    'Honesty: own claim over true noise; below 1 a strategy claims less noise than it leaves.',
    'dB better, × faster: noise at the end and time to the target against the plain mean, where that races.',
    ...(result.lanes.some(isMarkedHollow)
      ? [`◇ hollow: the gain is outside ${GAIN_BOUNDS.join('–')}, so low noise counts for little; * beyond chance.`]
      : []),
    `Fmp: average against own noise claim; above ${FMP_PRESENT.toFixed(2)} a response is called present (99 %, one look).`,
    '3:1: in how many patients the largest fall of the average is three times the gap of its split buffers (present),',
    `is not while the gap is below ${scenario.measures.absentGapNv} nV (absent), or cannot be told. Pure noise passes for present now and then.`,
    ...(replicates < 3
      ? ['One run scatters by about 20 %: use --replicates 8 or more before you believe a ranking.']
      : []),
    ...(result.lanes.some(isUnranked)
      ? [`* gain outside ${GAIN_BOUNDS.join('–')} beyond chance: the response is changed, so low noise does not count.`]
      : []),
    'Teaching simulation: model values, not normative, not for clinical decisions.',
    ...raceCautions(report),
  ].join('\n');
}

/** What somebody who did this to a person would have to mind. */
export function raceCautions({ scenario, isImplant, contract }: RaceReport): string[] {
  // The first caution speaks of simulated recordings, which a real background is not.
  return [...cautionsFor(scenario).slice(isImplant ? 1 : 0), ...contract.map(oneLine)];
}

/** Whether replicates show that it changes the response: it then has no rank. */
function isUnranked(lane: LaneResult): boolean {
  return changesResponse(lane.amplitudeGain);
}

/** Whether its lead on the plain mean is marked as hollow; the plain mean itself has none. */
function isMarkedHollow({ strategy, amplitudeGain }: LaneResult): boolean {
  return strategy !== 'plain-mean' && isHollow(amplitudeGain.value);
}

/** Lanes in order of rank: those that change the response come last, whatever their noise. */
function ranking(lanes: readonly LaneResult[]): LaneResult[] {
  const timeOf = (lane: LaneResult) => lane.secondsToTarget?.value ?? Infinity;
  return [...lanes].sort((a, b) => {
    if (isUnranked(a) !== isUnranked(b)) return isUnranked(a) ? 1 : -1;
    if (timeOf(a) !== timeOf(b)) return timeOf(a) - timeOf(b);
    return (a.expectedResidualNoiseNv.value || Infinity) - (b.expectedResidualNoiseNv.value || Infinity);
  });
}

function figures(lane: LaneResult): string[] {
  const { secondsToTarget: time, expectedResidualNoiseNv: noise, regret, efficiency } = lane;
  const hollow = isMarkedHollow(lane) ? ' ◇' : '';
  return [
    time ? shown(time.value, 1) : 'never',
    time ? intervalText(time, 0) : '–',
    lane.sweepsToTarget === null ? '–' : String(lane.sweepsToTarget),
    regret ? shown(regret.lostS, 1) : '–',
    shown(noise.value, 1),
    intervalText(noise, 1),
    shown(lane.ownNoiseNv, 1),
    shown(lane.honesty, 2),
    efficiency ? `${shown(efficiency.noiseDb.value, 1)}${hollow}` : '–',
    efficiency
      ? `${shown(efficiency.timeRatio.value, 2)}${Number.isFinite(efficiency.timeRatio.value) ? hollow : ''}`
      : '–',
    `${shown(lane.amplitudeGain.value, 3)}${isUnranked(lane) ? '*' : ''}`,
    shown(lane.splitCorrelation, 2),
    shown(lane.fmp, 1),
    `${lane.verdicts.present}/${lane.verdicts.absent}/${lane.verdicts['cannot-tell']}`,
    `${lane.sweepsUsed}/${lane.sweepsOffered}`,
    shown(lane.effectiveSweeps, 0),
  ];
}

function intervalText({ low, high }: Expected, decimals: number): string {
  if (Number.isNaN(low)) return '–';
  return `${shown(low, decimals)}–${Number.isFinite(high) ? shown(high, decimals) : 'never'}`;
}

/** Text from a file, without the control characters that would move the cursor or colour the terminal. */
export function oneLine(text: string): string {
  return text.replace(/\p{Cc}+/gu, ' ').trim();
}

/** Residual noise against seconds, a column for each lane. */
export function curveText({ result, outside }: RaceReport): string {
  const titles = laneTitles(
    result.lanes,
    result.lanes.map((lane) => lane.name ?? (outside.length > 0 ? laneName(lane, outside) : lane.strategy)),
  );
  const { curve } = result.lanes[0];
  const rows = curve.map((point, j) => [
    point.seconds.toFixed(2),
    ...result.lanes.map((lane) => shown(lane.curve[j].noiseNv, 1)),
  ]);
  return textTable([['seconds', ...titles], ...rows]);
}

/** What every lane made of one sweep, in the strategies' own words. */
export function explanationText({ result }: RaceReport, explanation: SweepExplanation): string {
  const { index, timeS, polarity, overRange, trueNoiseUv, usualNoiseUv, lanes } = explanation;
  const titles = laneTitles(
    result.lanes,
    lanes.map(({ name }) => name),
  );
  const facts = [
    `Sweep ${index}, at ${timeS.toFixed(2)} s, ${polarity === 1 ? 'condensation' : 'rarefaction'}${overRange ? ', flagged over-range' : ''}:`,
    `true noise ${shown(trueNoiseUv, 2)} µV rms, ${shown(usualNoiseUv, 2)} µV is usual.`,
  ];
  const rows = lanes.map(({ share, sentence }, k) => [oneLine(titles[k]), shown(share, 2), oneLine(sentence)]);
  return [facts.join(' '), textTable([['strategy', 'share', 'why'], ...rows], [0, 2])].join('\n');
}

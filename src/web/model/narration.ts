import { averagingStrategy } from '../../core/averaging/index.ts';
import { GAIN_BOUNDS } from '../../core/quality/amplitudeGain.ts';
import { weightReasons } from '../worker/protocol.ts';
import type { Bench } from './bench.ts';
import { countText, decimalText, secondsText, voltageText } from './numberText.ts';

/** Letters by which the lanes are spoken of, in their order. */
export const laneLetters = ['A', 'B', 'C', 'D', 'E', 'F'] as const;

/** The name of a lane as it is spoken: letter and strategy. */
function laneName({ record }: Bench, lane: number): string {
  return `${laneLetters[lane]}, ${record.lanes[lane].name}`;
}

/** Says where a lane stands: arrival at the target, claim, and, unless sealed, true noise and gain. */
function laneSentence(bench: Bench, lane: number): string {
  const { record, truthSealed, scenario } = bench;
  const { reading } = record.lanes[lane];
  const arrivalS = record.arrivalS(lane, truthSealed ? 'ownNoiseUv' : 'residualNoiseUv');
  const target = `${scenario.session.targetNv} nV`;
  const verb = truthSealed ? 'claims to have reached' : 'reached';
  const arrival = arrivalS === null ? `has not reached ${target}` : `${verb} ${target} at ${secondsText(arrivalS)}`;
  const known = [`own claim ${voltageText(reading.ownNoiseUv)}`];
  if (!truthSealed) {
    known.unshift(`residual noise ${voltageText(reading.residualNoiseUv)}`);
    if (Number.isFinite(reading.amplitudeGain)) {
      const fair = reading.amplitudeGain >= GAIN_BOUNDS[0] && reading.amplitudeGain <= GAIN_BOUNDS[1];
      known.push(`gain ${decimalText(reading.amplitudeGain, 2)}${fair ? '' : ', outside its bounds'}`);
    }
  }
  return `Lane ${laneName(bench, lane)}: ${arrival}; ${known.join('; ')}.`;
}

/** Says what the whole race strip shows. */
export function raceSentence(bench: Bench): string {
  const { record, scenario, truthSealed } = bench;
  const what = truthSealed ? 'Noise that each strategy claims' : 'Residual noise';
  const head = `${what} against seconds, logarithmic axes, target ${scenario.session.targetNv} nV, after ${secondsText(record.seconds)}.`;
  return [head, ...record.lanes.map((_, lane) => laneSentence(bench, lane))].join(' ');
}

/** Says what the belt shows. */
export function beltSentence(bench: Bench): string {
  const { record, shownSweep } = bench;
  if (shownSweep < 0) return 'Sweep belt: no sweep yet.';
  return `Sweep belt: ${countText(record.offeredCount)} of ${countText(record.sweepCount)} sweeps offered. ${sweepSentence(bench)}`;
}

/** Says what the sweep looked at is like. */
export function sweepSentence(bench: Bench): string {
  const { record, shownSweep } = bench;
  if (shownSweep < 0) return 'No sweep yet.';
  const flag = record.isOverRange(shownSweep, record.channel) ? ', flagged over-range' : '';
  const polarity = record.polarity[shownSweep] > 0 ? 'condensation' : 'rarefaction';
  return `Sweep ${countText(shownSweep + 1)} at ${record.timeS[shownSweep].toFixed(2)} s, ${polarity}, largest sample ${record.peakUv[shownSweep].toFixed(1)} µV${flag}.`;
}

/** Says what one lane did with the sweep looked at, in the strategy's own words. */
export function reasonSentence(bench: Bench, lane: number): string {
  const { record, shownSweep } = bench;
  if (shownSweep < 0) return 'No sweep yet.';
  return averagingStrategy(record.lanes[lane].strategy).explain(record.verdict(lane, shownSweep));
}

/** Says what a weight ribbon shows: how many sweeps met which fate. */
export function ribbonSentence(bench: Bench, lane: number): string {
  const { record } = bench;
  const counts = new Array<number>(weightReasons.length).fill(0);
  const { reason } = record.lanes[lane];
  for (let k = 0; k < record.offeredCount; k++) counts[reason[k]]++;
  const parts = weightReasons
    .map((name, code) => `${countText(counts[code])} ${name}`)
    .filter((_, code) => counts[code] > 0);
  return `Weights of lane ${laneName(bench, lane)}: ${parts.join(', ') || 'no sweep yet'}.`;
}

/** Says what the picture of an average shows. */
export function averageSentence(bench: Bench, lane: number): string {
  const { averageUv } = bench.record.lanes[lane];
  let at = -1;
  for (let i = bench.record.preSampleCount; i < averageUv.length; i++) {
    if (at < 0 || Math.abs(averageUv[i]) > Math.abs(averageUv[at])) at = i;
  }
  if (at < 0 || !Number.isFinite(averageUv[at]))
    return `Average of lane ${laneName(bench, lane)}: nothing counted yet.`;
  const latencyMs = (1000 * (at - bench.record.preSampleCount)) / bench.scenario.converter.sampleRateHz;
  const truth = bench.truthSealed ? 'truth sealed' : 'truth drawn dashed';
  return `Average of lane ${laneName(bench, lane)}: largest deflection after the stimulus ${voltageText(averageUv[at])} at ${latencyMs.toFixed(1)} ms; ${truth}.`;
}

/** What has happened since the last call that is worth saying aloud: arrivals, the end, a failure. */
export function milestones(): (bench: Bench) => string[] {
  let record: unknown = null;
  let arrived = new Set<number>();
  let ended = false;
  return (bench) => {
    if (record !== bench.record) {
      record = bench.record;
      arrived = new Set();
      ended = false;
    }
    const news: string[] = [];
    const by = bench.truthSealed ? 'ownNoiseUv' : 'residualNoiseUv';
    for (const lane of bench.record.lanes.keys()) {
      if (arrived.has(lane)) continue;
      const arrivalS = bench.record.arrivalS(lane, by);
      // Early luck does not last: it is news once the lane has stayed there for a tenth of the time.
      if (arrivalS === null || !(bench.record.seconds > 1.1 * arrivalS || bench.record.finished)) continue;
      arrived.add(lane);
      const verb = bench.truthSealed ? 'claims' : 'reached';
      news.push(
        `Lane ${laneName(bench, lane)} ${verb} ${bench.scenario.session.targetNv} nV at ${secondsText(arrivalS)}.`,
      );
    }
    if (bench.state === 'finished' && !ended) {
      ended = true;
      news.push(`Session over after ${secondsText(bench.record.seconds)}.`);
    }
    return news;
  };
}

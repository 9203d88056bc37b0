import { averagingStrategy } from '../../core/averaging/index.ts';
import type { RunRecord } from './runRecord.ts';

/** One sweep's part in the value of an average at one latency. */
interface RipplePart {
  index: number;
  /** What it adds to the average there, µV. */
  partUv: number;
}

/** Who made a ripple of an average. */
export interface Ripple {
  /** Value of the average there, µV. */
  valueUv: number;
  /** The sweeps that push the hardest its way, hardest first. */
  parts: RipplePart[];
  /** What those few add together, µV. */
  togetherUv: number;
  /** Sweeps whose samples are still kept; older ones cannot be asked. */
  askedCount: number;
  /** True if the lane is no weighted sum of its sweeps, so that parts are only about right. */
  approximate: boolean;
}

/**
 * Finds the sweeps that contributed most to an average at one latency.
 *
 *     part[k] = share[k] · x[k](t) / Σ share,   the parts of all sweeps add up to the average
 *
 * @param ms - latency   @param count - how many to name
 * @returns null while the lane has nothing, or for a latency outside the window
 */
export function rippleAt(record: RunRecord, lane: number, ms: number, count = 10): Ripple | null {
  const { share, shareSum, averageUv, strategy } = record.lanes[lane];
  const sample = Math.round(record.preSampleCount + (ms * record.scenario.converter.sampleRateHz) / 1000);
  const valueUv = averageUv[sample];
  if (!(shareSum > 0) || valueUv === undefined || !Number.isFinite(valueUv)) return null;
  const sign = valueUv < 0 ? -1 : 1;
  const parts: RipplePart[] = [];
  const oldest = Math.max(0, record.offeredCount - record.keptCount);
  for (let index = oldest; index < record.offeredCount; index++) {
    if (!(share[index] > 0)) continue;
    const samples = record.rawSweep(index, record.channel);
    if (samples) parts.push({ index, partUv: (share[index] * samples[sample]) / shareSum });
  }
  const askedCount = parts.length;
  parts.sort((a, b) => sign * (b.partUv - a.partUv));
  parts.length = Math.min(count, parts.length);
  return {
    valueUv,
    parts,
    togetherUv: parts.reduce((sum, { partUv }) => sum + partUv, 0),
    askedCount,
    approximate: averagingStrategy(strategy).approximateShares === true,
  };
}

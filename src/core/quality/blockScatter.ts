import { fCritical } from './fDistribution.ts';
import { type SweepScatter, sweepScatter } from './sweepScatter.ts';

/**
 * Watches how the means of successive blocks scatter, beside how single sweeps do.
 *
 *     ratio = (noise claimed from block means) / (noise claimed from sweeps)
 *
 * 1 if sweeps are independent. Above 1 neighbours are alike (drift, hum that nearly locks): the average is noisier than
 * the sweeps claim. Below 1 they alternate (a hum at half-integer lock). A hum that locks exactly is in every block the
 * same and stays invisible to both.
 */
export interface BlockScatter {
  add(sweepUv: Float64Array, weight?: number): void;
  /** The ratio over samples [from, to) with what chance alone allows; NaN before the third block. */
  correlation(from: number, to: number, independentPoints?: number): NeighbourCorrelation;
}

/** The warning lamp for sweeps that are not independent. */
interface NeighbourCorrelation {
  ratio: number;
  /** 99 % of chance, were the sweeps independent: √ of F quantiles. */
  low: number;
  high: number;
  /** True if the ratio lies outside: the noise claims of this average are not to be trusted. */
  warning: boolean;
  blockCount: number;
}

/**
 * Makes an empty watcher of blocks.
 *
 * @param blockLength - sweeps per block, ≥ 2; a block that is not complete counts as it is
 * @throws {RangeError} unless both are large enough
 */
export function blockScatter(samplesPerSweep: number, blockLength: number): BlockScatter {
  if (!(blockLength >= 2 && Number.isInteger(blockLength))) {
    throw new RangeError(`blockScatter: blockLength must be a whole number >= 2, got ${blockLength}`);
  }
  const single: SweepScatter = sweepScatter(samplesPerSweep);
  const blocks: SweepScatter = sweepScatter(samplesPerSweep);
  const sumUv = new Float64Array(samplesPerSweep);
  let weightSum = 0;
  let count = 0;
  let blockCount = 0;
  return {
    add(sweepUv, weight = 1) {
      single.add(sweepUv, weight);
      if (weight > 0) {
        for (let i = 0; i < samplesPerSweep; i++) sumUv[i] += weight * sweepUv[i];
        weightSum += weight;
      }
      count++;
      if (count < blockLength) return;
      if (weightSum > 0) {
        for (let i = 0; i < samplesPerSweep; i++) sumUv[i] /= weightSum;
        blocks.add(sumUv, weightSum);
        blockCount++;
      }
      sumUv.fill(0);
      weightSum = 0;
      count = 0;
    },
    correlation(from, to, independentPoints = 10) {
      if (blockCount < 3) return { ratio: NaN, low: NaN, high: NaN, warning: false, blockCount };
      const ratio = blocks.noiseUv(from, to) / single.noiseUv(from, to);
      const ofBlocks = (blocks.effectiveCount() - 1) * independentPoints;
      const ofSweeps = (single.effectiveCount() - 1) * independentPoints;
      const high = Math.sqrt(fCritical(ofBlocks, ofSweeps, 0.005));
      const low = Math.sqrt(fCritical(ofBlocks, ofSweeps, 0.995));
      return { ratio, low, high, warning: ratio < low || ratio > high, blockCount };
    },
  };
}

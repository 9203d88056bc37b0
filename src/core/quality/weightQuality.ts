/** One sweep as the generator knows it, with the share that a strategy gave it. */
export interface LabelledSweep {
  /** Final share in the average, ≥ 0; 0 is left out. */
  weight: number;
  /** True noise of the sweep, µV rms over the analysis window: recorded less noise-free response. */
  noiseUv: number;
  /** The same without the disturbance, µV rms: what a calm patient would have given. */
  calmNoiseUv: number;
  /** What the disturbance alone adds, µV rms. */
  disturbanceUv: number;
}

/** How well a strategy tells good sweeps from bad ones. */
export interface WeightQuality {
  /** Share of good sweeps that got no weight, or less than half the usual one; NaN without good sweeps. */
  falseReject: number;
  /** Share of bad sweeps that got the usual weight or more; NaN without bad sweeps. */
  falseAccept: number;
  badShare: number;
  /** Spearman's rank correlation of weight with 1/true noise: 1 is perfect; NaN if all weights or noises are equal. */
  rank: number;
  /** Chance that a good sweep weighs more than a bad one (ties count half): the area under the curve. */
  area: number;
}

const BAD_FROM = 1.5; // × the background: muscle of this size makes a sweep bad

/**
 * Judges weights against the true noise of every sweep, which only the generator knows.
 *
 *     bad sweep: disturbance ≥ 1.5 × the median calm noise
 *     false reject: a good sweep with less than half the usual weight;  false accept: a bad one with no less than that
 *
 * The usual weight is the median weight of the good sweeps that were taken at all.
 *
 * @throws {RangeError} for no sweep
 */
export function weightQuality(sweeps: readonly LabelledSweep[]): WeightQuality {
  if (!(sweeps.length >= 1)) throw new RangeError('weightQuality: at least 1 sweep is needed, got none');
  const background = middle(sweeps.map((sweep) => sweep.calmNoiseUv));
  const isBad = (sweep: LabelledSweep) => sweep.disturbanceUv >= BAD_FROM * background;
  const good = sweeps.filter((sweep) => !isBad(sweep));
  const bad = sweeps.filter(isBad);
  const usual = middle(good.filter(({ weight }) => weight > 0).map(({ weight }) => weight));
  const kept = ({ weight }: LabelledSweep) => weight > 0 && !(weight < 0.5 * usual);
  return {
    falseReject: good.filter((sweep) => !kept(sweep)).length / good.length,
    falseAccept: bad.filter(kept).length / bad.length,
    badShare: bad.length / sweeps.length,
    rank: spearman(
      sweeps.map(({ weight }) => weight),
      sweeps.map(({ noiseUv }) => 1 / noiseUv),
    ),
    area: areaUnderCurve(
      good.map(({ weight }) => weight),
      bad.map(({ weight }) => weight),
    ),
  };
}

/**
 * Spearman's rank correlation; equal values share their mean rank.
 *
 * @returns −1 … 1; NaN if one side is all equal or has a NaN   @throws {RangeError} if lengths differ
 * @example spearman([1, 2, 3], [10, 30, 20]) // 0.5
 */
export function spearman(a: readonly number[], b: readonly number[]): number {
  if (a.length !== b.length) throw new RangeError(`spearman: lengths must agree, got ${a.length} and ${b.length}`);
  const ranksA = ranks(a);
  const ranksB = ranks(b);
  const centre = (a.length + 1) / 2;
  let products = 0;
  let squaresA = 0;
  let squaresB = 0;
  for (let k = 0; k < a.length; k++) {
    products += (ranksA[k] - centre) * (ranksB[k] - centre);
    squaresA += (ranksA[k] - centre) * (ranksA[k] - centre);
    squaresB += (ranksB[k] - centre) * (ranksB[k] - centre);
  }
  const scale = Math.sqrt(squaresA) * Math.sqrt(squaresB);
  return scale > 0 ? products / scale : NaN;
}

/** Chance that a number of the first list exceeds one of the second, ties half; NaN if a list is empty. */
export function areaUnderCurve(larger: readonly number[], smaller: readonly number[]): number {
  const together = ranks([...larger, ...smaller]);
  let sum = 0;
  for (let k = 0; k < larger.length; k++) sum += together[k];
  return (sum - (larger.length * (larger.length + 1)) / 2) / (larger.length * smaller.length);
}

/** Ranks from 1 on; equal values share their mean rank; all NaN if a value is NaN. */
function ranks(values: readonly number[]): Float64Array {
  const out = new Float64Array(values.length);
  if (values.some(Number.isNaN)) return out.fill(NaN);
  const order = Array.from(values.keys()).sort((a, b) => values[a] - values[b]);
  for (let start = 0; start < order.length; ) {
    let end = start;
    while (end < order.length && values[order[end]] === values[order[start]]) end++;
    for (let k = start; k < end; k++) out[order[k]] = (start + end + 1) / 2;
    start = end;
  }
  return out;
}

function middle(values: readonly number[]): number {
  const rising = [...values].sort((a, b) => a - b);
  const half = (rising.length - 1) / 2;
  return (rising[Math.floor(half)] + rising[Math.ceil(half)]) / 2;
}

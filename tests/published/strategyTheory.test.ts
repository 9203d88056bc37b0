import { describe, expect, it } from 'vitest';
import { nextGaussian, stream } from '../../src/core/random/stream.ts';
import { mean } from './raceRuns.ts';
import {
  averaged,
  errorOf,
  gainOf,
  interval,
  POINTS,
  PRE,
  plus,
  replicates,
  response,
  white,
} from './syntheticSweeps.ts';

const SILENT = new Float64Array(POINTS);
const WINDOW = POINTS - PRE;

describe('A20: in normal noise the median has 2/π of the efficiency of the mean', () => {
  // Source: textbook robust statistics (published values A20, from memory): asymptotic variance π/2 of that of the mean.
  it('leaves π/2 times the power, and its claim says so (60 runs of 200 sweeps)', () => {
    const runs = replicates(60, (r) => {
      const draws = stream('median', 'white', r);
      const sweepsUv = replicates(200, () => white(draws, 2));
      const { averageUv, ownNoiseUv } = averaged('median-average', sweepsUv);
      return { power: (errorOf(averageUv, SILENT) ** 2 * 200) / 4, claim: (ownNoiseUv ** 2 * 200) / 4 };
    });
    const power = interval(runs.map((run) => run.power));
    expect(power.high - power.low).toBeLessThan(0.35); // else it could not tell 1.57 from 1
    expect(power.low).toBeLessThan(Math.PI / 2);
    expect(power.high).toBeGreaterThan(Math.PI / 2);
    expect(Math.abs(mean(runs.map((run) => run.claim)) / (Math.PI / 2) - 1)).toBeLessThan(0.05);
  });
});

describe('A05: weights by the power of the sweep itself shrink the response', () => {
  // Source for the sign: Possibilities and limitations of weighted averaging (published values A05). The formula
  // 1 − 2·s'Cs/(s's·tr C) is derived: to first order E[x/|x|²] = s/|n|² − 2n(n's)/|n|⁴, and n's ∝ C for normal noise.
  it.each([
    ['white', 0],
    ['coloured by 0.6', 0.6],
    ['coloured by 0.85', 0.85],
  ])('by what the formula says, within 0.03, in noise that is %s', (_what, memory) => {
    const truth = response(0.5);
    const gains = replicates(12, (r) => {
      const draws = stream(`self/${memory}`, 'noise', r);
      const sweepsUv = replicates(2000, () => plus(coloured(white(draws, 2), memory), truth));
      return gainOf(averaged('self-weighting', sweepsUv).averageUv, truth);
    });
    const s = truth.subarray(PRE);
    let along = 0;
    for (let i = 0; i < WINDOW; i++) for (let j = 0; j < WINDOW; j++) along += s[i] * s[j] * memory ** Math.abs(i - j);
    const expected = 1 - (2 * along) / (s.reduce((sum, value) => sum + value * value, 0) * WINDOW);
    const gain = interval(gains);
    expect(gain.high - gain.low).toBeLessThan(0.08);
    expect(Math.abs(gain.value - expected)).toBeLessThan(0.03);
    expect(gain.high).toBeLessThan(memory === 0 ? 0.99 : 0.95);
  });

  it('weights by what lies before the stimulus do not', () => {
    const truth = response(0.5);
    const gain = interval(
      replicates(12, (r) => {
        const draws = stream('before', 'noise', r);
        return gainOf(
          averaged(
            'prestimulus-weighting',
            replicates(2000, () => plus(white(draws, 2), truth)),
          ).averageUv,
          truth,
        );
      }),
    );
    expect(gain.low).toBeLessThan(1);
    expect(gain.high).toBeGreaterThan(1);
    expect(gain.high - gain.low).toBeLessThan(0.06);
  });
});

describe('a response that is as large as its noise: x = c·(s + n), c log-normal with deviation σ', () => {
  // Derived: weights 1/c² give E[1/c]/(E[1/c²]·E[c]) = e^(σ²/2)/(e^(2σ²)·e^(σ²/2)) = e^(−2σ²).
  it.each([0.3, 0.5])(
    'inverse variance keeps e^(−2σ²) of it at σ = %d, division by the activity all of it',
    (sigma) => {
      const truth = response(1);
      const runs = replicates(40, (r) => {
        const draws = stream(`vemp/${sigma}`, 'contraction', r);
        const levels: number[] = [];
        const sweepsUv: Float64Array[] = [];
        for (let block = 0; block < 60; block++) {
          const level = 100 * Math.exp(sigma * nextGaussian(draws));
          for (let k = 0; k < 16; k++) {
            levels.push(level);
            sweepsUv.push(plus(white(draws, 1), truth, 0.5).map((value) => level * value));
          }
        }
        // Truth of this run: what unlimited plain averaging of these contractions would give.
        const fair = truth.map((value) => 0.5 * mean(levels) * value);
        const block = averaged('block-weighting', sweepsUv, { blockLength: 16 });
        const divided = averaged('muscle-normalised', sweepsUv, { smoothing: 1 });
        return { block: gainOf(block.averageUv, fair), divided: gainOf(divided.averageUv, fair) };
      });
      const block = interval(runs.map((run) => run.block));
      // 60 contractions a run: the mean of their ratio is some 3 % off that of infinitely many.
      expect(Math.abs(block.value / Math.exp(-2 * sigma * sigma) - 1)).toBeLessThan(0.06);
      expect(block.high).toBeLessThan(0.9);
      const divided = interval(runs.map((run) => run.divided));
      // The meter of 40 samples scatters by CV = 0.75/√40, so 1 + CV² = 1.014.
      expect(Math.abs(divided.value - 1.014)).toBeLessThan(0.02);
    },
  );
});

describe('a tracker that lets the response change stops getting quieter', () => {
  // Source: textbook steady state of the scalar Kalman filter, P = (−Q + √(Q² + 4QR))/2 ≈ √(QR) (A21, derived).
  it('at P∞ by its own claim and in truth, near (QR)^(1/4), for a response that does walk', () => {
    const [Q, R] = [4e-4, 4];
    const expected = (-Q + Math.sqrt(Q * Q + 4 * Q * R)) / 2;
    expect(Math.abs(Math.sqrt(expected) / (Q * R) ** 0.25 - 1)).toBeLessThan(0.01);
    const powers = replicates(40, (r) => {
      const draws = stream('walk', 'white', r);
      let truth: Float64Array = SILENT;
      const sweepsUv = replicates(600, () => {
        truth = plus(truth, white(draws, Math.sqrt(Q)));
        return plus(truth, white(draws, Math.sqrt(R)));
      });
      const { averageUv, ownNoiseUv } = averaged('kalman', sweepsUv, { processNoiseUv2: Q, knownNoiseUv2: R });
      expect(Math.abs(ownNoiseUv ** 2 / expected - 1)).toBeLessThan(5e-5); // e^(−2·600·0.01) is left of the start
      return errorOf(averageUv, truth) ** 2 / expected;
    });
    const power = interval(powers);
    expect(power.low).toBeLessThan(1);
    expect(power.high).toBeGreaterThan(1);
    expect(power.high - power.low).toBeLessThan(0.3);
  });
});

describe('sorted averaging stops where the next sweep would raise the noise', () => {
  // Derived for [MS99], which takes the minimum of Σp²/k²: the next sweep lowers it if p² < (2 + 1/k)·mean p² of those
  // before; as many again of variance v lower it if (1 + v)/4 < 1, so if v < 3.
  it.each([
    [2.8, 100],
    [3.2, 0],
  ])('with a hundred sweeps of variance %d beside a hundred of 1 it takes %d of them', (variance, louder) => {
    const sweepsUv = replicates(200, (k) => {
      // Waves that cancel in the mean, so that every sweep has exactly its variance about it.
      const size = Math.sqrt(2 * (k < 100 ? 1 : variance)) * (k % 2 === 0 ? 1 : -1);
      return Float64Array.from({ length: POINTS }, (_, i) => size * Math.sin((2 * Math.PI * i) / 8));
    });
    expect(averaged('sorted-averaging', sweepsUv).usedCount).toBe(100 + louder);
  });
});

describe('A23: rejection biases little until most sweeps are rejected', () => {
  // Source: 'The effects of automatic artifact rejection on evoked potential recordings' (published values A23): bias and
  // variance change little unless more than 80 % are rejected, for independent noise with its maximum near zero.
  const truth = response(0.5);
  const gainAt = (thresholdUv: number) =>
    replicates(8, (r) => {
      const draws = stream('reject', 'white', r);
      const sweepsUv = replicates(4000, () => plus(white(draws, 1), truth));
      const { averageUv, usedCount } = averaged('threshold-rejection', sweepsUv, { thresholdUv, skipMs: 0 });
      return { gain: gainOf(averageUv, truth), rejected: 1 - usedCount / 4000 };
    });

  it('keeps 95 % of the response with a third rejected, and loses more the more are', () => {
    const rows = [3.2, 2.6, 2.2].map((thresholdUv) => {
      const runs = gainAt(thresholdUv);
      return { gain: interval(runs.map((run) => run.gain)), rejected: mean(runs.map((run) => run.rejected)) };
    });
    const [loose, middle, tight] = rows;
    expect(loose.rejected).toBeLessThan(0.35);
    expect(middle.gain.low).toBeGreaterThan(0.88); // six in ten rejected: 0.92
    expect(loose.gain.low).toBeGreaterThan(0.95);
    expect(middle.rejected).toBeLessThan(0.8);
    expect(tight.rejected).toBeGreaterThan(0.8);
    expect(tight.gain.high).toBeLessThan(middle.gain.low);
    expect(middle.gain.high).toBeLessThan(loose.gain.low);
  });
});

describe('A10, A13: Bayesian averaging of blocks of 250 sweeps halves the variance in recordings that vary', () => {
  // Source: Elberling & Wahlgreen 1985: blocks of 250 (A10); variance of wave V parameters falls by a factor of about 2
  // (A13). Conditions here: 12 blocks whose noise power is log-normal with variance ln 2, for which AM/HM (A08) is 2.
  it('when the noise power of the blocks is that uneven', () => {
    const ratios = replicates(60, (r) => {
      const draws = stream('blocks of 250', 'white', r);
      const sweepsUv = replicates(12, () => {
        const sdUv = Math.exp(0.5 * Math.sqrt(Math.log(2)) * nextGaussian(draws));
        return replicates(250, () => white(draws, sdUv));
      }).flat();
      const plain = errorOf(averaged('plain-mean', sweepsUv).averageUv, SILENT);
      const blocks = errorOf(averaged('block-weighting', sweepsUv, { blockLength: 250 }).averageUv, SILENT);
      return { plain: plain ** 2, blocks: blocks ** 2 };
    });
    const ratio = mean(ratios.map((run) => run.plain)) / mean(ratios.map((run) => run.blocks));
    expect(ratio).toBeGreaterThan(1.6);
    expect(ratio).toBeLessThan(2.4);
  });
});

/** AR(1) noise of the same variance: neighbours correlate by `memory`. */
function coloured(values: Float64Array, memory: number): Float64Array {
  const fresh = Math.sqrt(1 - memory * memory);
  const out = values.slice();
  for (let i = 1; i < out.length; i++) out[i] = memory * out[i - 1] + fresh * values[i];
  return out;
}

import { describe, expect, it } from 'vitest';
import { contractContext, contractPatient, openSubject } from '../../../src/core/averaging/contractPatient.ts';
import { flagAware } from '../../../src/core/averaging/flagAware.ts';
import { averagingStrategy } from '../../../src/core/averaging/index.ts';
import { muscleLevel } from '../../../src/core/averaging/muscleLevel.ts';
import { splineBasis } from '../../../src/core/averaging/splineBasis.ts';
import type { AveragingStrategy, SweepMeta } from '../../../src/core/averaging/strategy.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneOf } from '../../../src/core/session/lanes.ts';

const scenario = resolveScenario({});
const LENGTH = contractContext.samplesPerSweep;
const level = (uv: number) => new Float64Array(LENGTH).fill(uv);
/** Zero mean before the stimulus, so that it has activity: ± uv in turn. */
const zigzag = (uv: number) => Float64Array.from({ length: LENGTH }, (_, i) => (i % 2 === 0 ? uv : -uv));

function run(
  strategy: AveragingStrategy,
  sweeps: readonly (readonly [Float64Array, Partial<SweepMeta>?])[],
  tunables: Record<string, number> = {},
  respectFlags = true,
) {
  const { parameters } = laneOf(scenario, strategy.id, tunables);
  const { averager, verdicts } = openSubject({ strategy, parameters }, { respectFlags });
  for (const [index, [sweepUv, meta]] of sweeps.entries()) {
    averager.add(sweepUv, { index, timeS: index, polarity: index % 2 === 0 ? 1 : -1, overRange: false, ...meta });
  }
  averager.settle?.();
  const out = new Float64Array(LENGTH);
  averager.read(out);
  return { out, verdicts, averager, sentences: verdicts.map((verdict) => strategy.explain(verdict)) };
}

describe('adaptive-rejection', () => {
  it('uses its ceiling until 20 sweeps are known, then twice the median peak', () => {
    const calm = Array.from({ length: 20 }, () => [level(2)] as const);
    const { verdicts, sentences } = run(averagingStrategy('adaptive-rejection'), [...calm, [level(3.9)], [level(4.1)]]);
    expect(verdicts.slice(0, 20).every(({ limitUv }) => limitUv === 30)).toBe(true);
    expect(verdicts.slice(20).map(({ reason, limitUv }) => [reason, limitUv])).toEqual([
      ['taken', 4],
      ['rejected', 4],
    ]);
    expect(sentences[21]).toContain('its largest sample is 4.1 µV, at or over the limit of 4.0 µV learnt');
  });
});

describe('template-weighting', () => {
  it('gives a sweep with nine times the noise a ninth of the share', () => {
    const quiet = Array.from({ length: 50 }, (_, k) => [zigzag(k % 2 === 0 ? 1 : -1)] as const);
    const tunables = { neighbours: 0, varianceFloorUv2: 0 };
    const { verdicts } = run(averagingStrategy('template-weighting'), [...quiet, [zigzag(3)]], tunables);
    expect(verdicts[49].weight).toBe(1);
    expect(verdicts[50].weight).toBeCloseTo(50 / 49 / 9, 9); // the variance of the first fifty is taken over 49
    expect(verdicts[50].reason).toBe('down-weighted');
  });
});

describe('forgetting-average', () => {
  it('is the mean while its memory fills, then moves by 1/memory', () => {
    const { out, averager } = run(
      averagingStrategy('forgetting-average'),
      [0, 1, 2, 5].map((uv) => [level(uv)] as const),
      {
        memorySweeps: 3,
      },
    );
    expect(out[0]).toBeCloseTo(1 + (5 - 1) / 3, 12);
    expect(averager.usedCount()).toBe(4);
  });
});

describe('muscle-normalised', () => {
  it('divides by the activity before the stimulus and shows it at the mean activity; by hand', () => {
    const { out, verdicts } = run(averagingStrategy('muscle-normalised'), [[zigzag(2)], [zigzag(6)]], { smoothing: 1 });
    expect(out[0]).toBeCloseTo(4, 12); // (2/2 + 6/6)/2 · (2 + 6)/2
    expect(verdicts.map(({ measureUv }) => measureUv)).toEqual([2, 6]);
    const gated = run(averagingStrategy('muscle-normalised'), [[zigzag(2)], [zigzag(6)], [level(6)]], {
      smoothing: 1,
      lowestUv: 3,
    });
    expect(gated.verdicts.map(({ reason }) => reason)).toEqual(['rejected', 'taken', 'rejected']);
    expect(gated.sentences[2]).toBe('Left out: no muscle activity to divide by.');
  });

  it('has a meter that means over the last sweeps and does not mind an offset', () => {
    const meter = muscleLevel(2, 2);
    expect(meter.next(Float64Array.of(99, 101, 7))).toBe(1);
    expect(meter.next(Float64Array.of(97, 103, 7))).toBe(2);
    expect(meter.next(Float64Array.of(97, 103, 7))).toBe(3);
    expect(muscleLevel(0, 1).next(Float64Array.of(1))).toBeNaN();
  });
});

describe('behaviour-gated', () => {
  it('takes sweeps only while gaze, head and muscle are as asked, and says what was wrong', () => {
    const tunables = { lowestGazeDeg: 30, lowestMuscleUv: 1, highestMuscleUv: 5, smoothing: 1 };
    const { verdicts, sentences, out } = run(
      averagingStrategy('behaviour-gated'),
      [
        [zigzag(2), { gazeDeg: 34 }],
        [zigzag(2), { gazeDeg: 12 }],
        [zigzag(2), { gazeDeg: 34, moved: true }],
        [zigzag(9), { gazeDeg: 34 }],
        [zigzag(0.5)],
        [zigzag(4)],
      ],
      tunables,
    );
    expect(verdicts.map(({ weight }) => weight)).toEqual([1, 0, 0, 0, 0, 1]);
    expect(out[0]).toBe(3);
    expect(sentences.slice(1, 5)).toEqual([
      'Left out: the gaze had sagged to 12°.',
      'Left out: the motion sensor saw the head move.',
      'Left out: the muscle was too tense, 9.00 µV.',
      'Left out: the muscle was too slack, 0.500 µV.',
    ]);
  });
});

describe('pair-balanced', () => {
  it('cancels what changes sign with the polarity, where one polarity is noisier too', () => {
    const noise = contractPatient(512, '3', 1).map(({ sweepUv }) => sweepUv);
    const sweeps = noise.map((sweepUv, k) => [sweepUv.map((uv) => (k % 2 === 0 ? 4 * uv + 5 : uv - 5))] as const);
    const mean = ({ out }: { out: Float64Array }) => out.reduce((sum, uv) => sum + uv, 0) / LENGTH;
    expect(Math.abs(mean(run(averagingStrategy('pair-balanced'), sweeps)))).toBeLessThan(0.2);
    const tunables = { startSweeps: 8, neighbours: 0 };
    expect(mean(run(averagingStrategy('template-weighting'), sweeps, tunables))).toBeLessThan(-1);
  });

  it('waits for a partner, and gives up where there is none', () => {
    const alike = Array.from({ length: 300 }, () => [level(1), { polarity: 1 as const }] as const);
    const { averager, sentences } = run(averagingStrategy('pair-balanced'), alike);
    expect(averager.usedCount()).toBe(0);
    expect(sentences[0]).toBe('Left out: no sweep of the other polarity came to be its partner.');
  });
});

describe('rule-set', () => {
  it('throws away what is absurd and takes the blocks of its task', () => {
    const sweeps = contractPatient(100, '5', 1).map(
      ({ sweepUv }, k) => [k === 60 ? sweepUv.map((uv) => 90 * uv) : sweepUv] as const,
    );
    const { verdicts, averager } = run(averagingStrategy('rule-set'), sweeps);
    expect(verdicts.find(({ index }) => index === 60)?.reason).toBe('rejected');
    expect(averager.usedCount()).toBeGreaterThan(60);
  });
});

describe('flagAware', () => {
  it('keeps flagged sweeps from a strategy that would take them, online and in hindsight', () => {
    for (const id of ['plain-mean', 'trimmed-mean']) {
      const sweeps = [[level(1)], [level(99), { overRange: true }], [level(1)]] as const;
      const wrapped = run(flagAware(averagingStrategy(id)), sweeps, {}, false);
      expect(wrapped.out[0]).toBe(1);
      expect(wrapped.verdicts.find(({ index }) => index === 1)?.reason).toBe('flagged');
      expect(run(averagingStrategy(id), sweeps, {}, false).out[0]).toBeGreaterThan(30);
    }
  });
});

describe('splineBasis', () => {
  it('adds up to 1 at every sample, and a straight line can be made of it', () => {
    const basis = splineBasis(9, 50);
    for (let i = 0; i < 50; i++) {
      let sum = 0;
      let line = 0;
      for (let j = 0; j < 4; j++) {
        sum += basis.value(i, j);
        line += basis.value(i, j) * (basis.first(i) + j); // coefficients that rise evenly
      }
      expect(sum).toBeCloseTo(1, 12);
      expect(line).toBeCloseTo((6 * (i + 0.5)) / 50 + 1, 12);
    }
  });
});

import { describe, expect, it } from 'vitest';
import { computeFigure } from '../../src/lessons/figures.ts';
import type { LaneMeasure, RunMeasure } from '../../src/lessons/hiddenRuns.ts';
import { markOutcome } from '../../src/lessons/markQuestion.ts';
import type { Figure, Lesson } from '../../src/lessons/schema.ts';
import { lesson } from './lessonFolders.ts';

/** Two runs of two patients looked at after 100, 200, 300 and 400 sweeps; the second run is 10 dB softer. */
function source(limit = 2) {
  const base = lesson('quieter-by-the-root');
  const soft = { 'stimulus.levelDbNhl': 20, 'hearing.conductiveDb': 25 };
  const loud = { 'stimulus.levelDbNhl': 30, 'hearing.conductiveDb': 25 };
  const run = base.runs[0];
  const theLesson: Lesson = {
    ...base,
    runs: [
      { ...run, id: 'loud', settings: [], change: loud },
      { ...run, id: 'soft', settings: [], change: soft },
    ],
  };
  const measure = (runId: string, fmpCurve: number[][], noiseNv: number[]): [string, RunMeasure] => {
    const lane = {
      ...{ id: 'plain-mean', strategy: 'plain-mean', parameters: {}, noiseNv },
      ...{ fmpCurve: fmpCurve.map((curve) => Float64Array.from(curve)) },
      ...{ ownCurveNv: fmpCurve.map(() => Float64Array.of(90, 60, 45, 30)) },
    } as unknown as LaneMeasure;
    const seconds = [10, 20, 30, 40];
    const { length: patientCount } = fmpCurve;
    return [
      runId,
      { runId, title: runId, patientCount, sweeps: [100, 200, 300, 400], seconds, lanes: [lane] },
    ] as const;
  };
  const loudFmp = [
    [1, 3, 1, 1],
    [1, 1, 1, 2.5],
  ];
  const softFmp = [
    [1, 1, 1, 1],
    [5, 1, 1, 1],
  ];
  const measures = new Map([measure('loud', loudFmp, [30, 50]), measure('soft', softFmp, [30, 20])]);
  return { lesson: theLesson, settings: { limit }, measures };
}

const stop = { everySweeps: 100, limit: { setting: 'limit' }, floorNv: 30 };
const value = (figure: Figure, from = source()) => computeFigure(figure, from).value;
const called = (run: string, verdict: 'present' | 'absent' | 'cannot-tell', over: Partial<typeof stop> = {}) =>
  value({ figure: 'called', run, lane: 'plain-mean', stop: { ...stop, ...over }, verdict });

describe('figures of stopping', () => {
  it('present at the first look above the limit, absent at the floor, else cannot tell', () => {
    expect(called('loud', 'present')).toBe(100);
    expect(called('soft', 'present')).toBe(50);
    expect(called('soft', 'absent')).toBe(50);
    expect(called('soft', 'cannot-tell', { floorNv: 10 })).toBe(50);
  });

  it('what is between the looks is not seen', () => {
    expect(called('loud', 'present', { everySweeps: 300 })).toBe(50); // the 3 at 200 sweeps is over by then
    expect(called('soft', 'present', { everySweeps: 1000 })).toBe(0); // only the end is looked at
  });

  it('a session costs the time up to its call', () => {
    const figure = { figure: 'seconds-to-call', run: 'loud', lane: 'plain-mean', stop } as const;
    expect(value(figure)).toBe((20 + 40) / 2);
  });

  it('a search goes down while there is a response; a limit too high finds none', () => {
    const search = { levels: ['loud', 'soft'], lane: 'plain-mean', stop };
    // Found 30 and 20 dB; the ear begins to hear at 25.
    expect(value({ figure: 'threshold-within', ...search, withinDb: 5 })).toBe(100);
    expect(value({ figure: 'threshold-within', ...search, withinDb: 4 })).toBe(0);
    expect(value({ figure: 'search-seconds', ...search })).toBe((20 + 40 + (40 + 10)) / 2);
    expect(value({ figure: 'threshold-within', ...search, withinDb: 5 }, source(9))).toBe(0);
  });
});

describe('figures over runs', () => {
  const noise = { figure: 'residual-noise', run: 'loud', lane: 'plain-mean', percentile: 50 } as const;
  const over = { figure: 'over-runs' as const, text: 'of both', runs: ['loud', 'soft'], of: noise };

  it('take the lowest, the highest, or the share that keeps a limit', () => {
    expect(value({ ...over, take: 'lowest' })).toBe(25);
    expect(value({ ...over, take: 'highest' })).toBe(40);
    expect(value({ ...over, take: 'share', atMost: 30 })).toBe(50);
    const ratio = { figure: 'ratio', of: noise, to: { ...noise, percentile: 99 } } as const;
    expect(value({ ...over, of: ratio, take: 'lowest' })).toBeCloseTo(40 / 49.8, 9);
  });

  it('an outcome rule gives nothing where its condition is broken, and says so', () => {
    const [loud] = source().lesson.runs;
    const rule = { id: 'r', text: 'R', points: 10, figure: noise, full: 50, none: 100 };
    const condition = { text: 'the soft run is quiet', figure: { ...noise, run: 'soft' }, atMost: 20 };
    expect(loud.id).toBe('loud');
    expect(markOutcome(rule, source()).points).toBe(10);
    const broken = markOutcome({ ...rule, provided: condition }, source());
    expect(broken.points).toBe(0);
    expect(broken.rule).toContain('nothing unless the soft run is quiet');
    expect(broken.finding).toMatch(/40 nV; .*25 nV/);
    expect(markOutcome({ ...rule, provided: { ...condition, atMost: 25 } }, source()).points).toBe(10);
  });
});

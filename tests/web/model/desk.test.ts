import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { cochlearAreas, markNames, marksByRule, sideFigures } from '../../../src/web/model/deskReading.ts';
import { finishedBench } from './finishedBench.ts';

describe('Desk', () => {
  it('measures from a held cursor, with less noise between neighbours than far apart', () => {
    const { desk } = finishedBench({ session: { durationS: 20 } });
    expect(desk.span).toBeNull();
    desk.moveCursor(3);
    desk.holdCursor();
    expect(desk.span).toMatchObject({ ms: 0, uv: 0, sdUv: 0 });
    const sdAfter = (ms: number) => {
      desk.moveCursor(3 + ms);
      return desk.span?.sdUv ?? Number.NaN;
    };
    expect(sdAfter(0.125)).toBeLessThan(sdAfter(4));
    const { averageUv } = desk.trace;
    const [from, to] = [5 + 3, 5 + 7].map((ms) => averageUv[ms * 16]); // 5 ms before the sound, 16 samples a ms
    expect(desk.span?.uv).toBeCloseTo(to - from, 9);
    desk.holdCursor();
    expect(desk.span).toBeNull();
  });

  it('reads marks near a peak at the peak, tells the rest, and commits them once and for all', () => {
    const bench = finishedBench({ session: { durationS: 60 } });
    bench.sealTruth(true);
    const { desk } = bench;
    expect(markNames(bench.scenario)).toEqual(['I', 'III', 'V']);
    const byRule = marksByRule(bench.scenario, desk.trace);
    desk.moveCursor(byRule.V + 0.15);
    desk.put('V');
    desk.moveCursor(-3.3);
    desk.put('I');
    const { peaks } = desk.reading;
    const waveV = peaks.find(({ name }) => name === 'V');
    expect(waveV?.latencyMs).toBeCloseTo(byRule.V, 6);
    expect(waveV?.latencySdMs).toBeGreaterThan(0);
    expect(bench.truthSealed).toBe(true);

    desk.commit();
    expect(bench.truthSealed).toBe(false);
    desk.moveCursor(3);
    desk.put('V');
    desk.remove('V');
    expect(desk.marks.V).toBeCloseTo(byRule.V + 0.15, 9);
    const error = desk.reading.errors.find(({ name }) => name === 'V');
    expect(Math.abs(error?.latencyErrorMs ?? NaN)).toBeLessThan(0.5);
    bench.restart();
    expect(desk.trace.averageUv.some(Number.isFinite)).toBe(true); // the committed trace stays when the run begins anew
    desk.startAgain();
    expect(desk.marks).toEqual({});
  });

  it('calls marks practice if the truth of this patient has been in sight, sealed again or not', () => {
    const bench = finishedBench({ session: { durationS: 10 } });
    bench.sealTruth(true);
    bench.desk.putAll({ V: 6 });
    bench.desk.commit();
    expect(bench.desk.committed?.sealed).toBe(false);
    bench.desk.startAgain();
    bench.sealTruth(true);
    bench.setSeed('another');
    bench.desk.putAll({ V: 6 });
    bench.desk.commit();
    expect(bench.desk.committed?.sealed).toBe(true);
  });

  it('keeps the seal that a lesson holds', () => {
    const bench = finishedBench({ session: { durationS: 10 } });
    bench.sealTruth(true, true);
    bench.desk.putAll({ V: 6 });
    bench.desk.commit();
    expect(bench.truthSealed).toBe(true);
    expect(bench.desk.committed?.sealed).toBe(true);
  });

  it('finds the areas of an electrocochleogram, and none elsewhere', () => {
    const bench = finishedBench({ response: { kind: 'ecochg' }, session: { durationS: 30 } });
    const areas = cochlearAreas(bench.scenario, bench.desk.trace)?.areas ?? [];
    expect(areas.map(({ name }) => name)).toEqual(['SP', 'AP from the baseline', 'AP from its own start']);
    for (const { fromMs, toMs } of areas) expect(toMs).toBeGreaterThan(fromMs);
    expect(markNames(bench.scenario)).toEqual(['SP', 'N1']);
    expect(cochlearAreas(resolveScenario({}), bench.desk.trace)).toBeNull();
  });

  it('makes the asymmetry of two sides, raw and for equal activity', () => {
    const weak = finishedBench({ response: { kind: 'cvemp' }, contraction: { meanRectifiedUv: 60 } });
    const strong = finishedBench({ response: { kind: 'cvemp' }, contraction: { meanRectifiedUv: 180 } });
    const { desk } = weak;
    for (const { desk: from, scenario } of [weak, strong]) from.putAll(marksByRule(scenario, from.trace));
    desk.keepSide('left');
    const [left, right] = [desk.sides.left, strong.desk.reading.peaks];
    const activity = { left: desk.trace.rectifiedUv, right: strong.desk.trace.rectifiedUv };
    expect(activity.right / activity.left).toBeCloseTo(3, 1);
    const [raw, corrected] = sideFigures(left, right, activity);
    expect(raw.value).toBeGreaterThan(35); // three times the contraction: (3 − 1)/(3 + 1) = 50 %
    expect(corrected.value).toBeLessThan(20);
    expect(sideFigures(left, null, activity)).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import { oracle } from '../../../src/core/averaging/oracle.ts';
import { plainMean } from '../../../src/core/averaging/plainMean.ts';
import type { AveragingStrategy } from '../../../src/core/averaging/strategy.ts';
import { preset } from '../../../src/core/scenario/presets.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneField } from '../../../src/core/session/laneField.ts';
import { laneOf } from '../../../src/core/session/lanes.ts';
import { race } from '../../../src/core/session/race.ts';
import { averagingContext, startSession, sweepMeta } from '../../../src/core/session/session.ts';

const scenario = resolveScenario({ session: { durationS: 6 }, movement: { burstsPerS: 0.5, durationS: 0.3 } });
const context = averagingContext(scenario);

describe('laneField', () => {
  it('tells each lane what its strategy declares that it uses, in hindsight too, and no other lane', () => {
    const heard = new Map<string, string[]>();
    const curious = (id: string, more: Partial<AveragingStrategy>): AveragingStrategy => ({
      ...plainMean,
      ...more,
      id,
      create(...all) {
        const inner = plainMean.create(all[0], {}, () => {});
        const seen: string[] = [];
        heard.set(id, seen);
        return {
          ...inner,
          settle: () => {},
          add(sweepUv, meta) {
            const { interval, gazeDeg, moved } = meta;
            seen.push([interval?.samplesUv[0] ?? '-', gazeDeg ?? '-', moved ?? '-'].join(' '));
            inner.add(sweepUv, meta);
          },
        };
      },
    });
    const own = [
      curious('blind', {}),
      curious('hears', { usesInterval: true }),
      curious('sees', { usesBehaviour: true }),
      curious('late-hears', { usesInterval: true, timing: 'hindsight' }),
      curious('late-blind', { timing: 'hindsight' }),
      curious('late-all', { usesInterval: true, usesBehaviour: true, timing: 'hindsight' }),
    ];
    const settings = own.map(({ id }) => ({ strategy: id, parameters: {} }));
    const field = laneField(settings, context, [], own);
    const samplesUv = new Float64Array(context.samplesPerSweep + 8); // reused, as a session does
    for (let index = 0; index < 2; index++) {
      samplesUv.fill(index + 1);
      const told = { gazeDeg: 10 + index, moved: false, interval: { samplesUv, firstSample: 0 } };
      field.add(samplesUv.slice(8), { index, timeS: index, polarity: 1, overRange: false, ...told });
    }
    field.finish();
    expect(Object.fromEntries(heard)).toEqual({
      blind: ['- - -', '- - -'],
      hears: ['1 - -', '2 - -'],
      sees: ['- 10 false', '- 11 false'],
      'late-hears': ['1 - -', '2 - -'],
      'late-blind': ['- - -', '- - -'],
      'late-all': ['1 10 false', '2 11 false'],
    });
  });

  it('opens a lane that judges in hindsight anew each time, so that it cannot carry anything back', () => {
    let opened = 0;
    const sly: AveragingStrategy = {
      ...plainMean,
      id: 'sly',
      timing: 'hindsight',
      create(...all) {
        opened++;
        return { ...plainMean.create(all[0], {}, () => {}), settle: () => {} };
      },
    };
    const field = laneField([{ strategy: 'sly', parameters: {} }], context, [], [sly]);
    const sweepUv = new Float64Array(context.samplesPerSweep).fill(1);
    const add = (index: number) => field.add(sweepUv, { index, timeS: index, polarity: 1, overRange: false });
    add(0);
    add(1);
    expect(field.now()[0].averager.usedCount()).toBe(2);
    expect(opened).toBe(2);
    field.now();
    expect(opened).toBe(2); // nothing new to judge
    add(2);
    expect(field.now()[0].averager.usedCount()).toBe(3);
    expect(opened).toBe(3);
  });

  it('lets those hear the intervals and the sensors who ask for it, and no others', () => {
    const told: string[][] = [];
    const spy = (id: string, more: object): AveragingStrategy => ({
      ...plainMean,
      ...more,
      id,
      create: (...all) => ({
        ...plainMean.create(all[0], {}, () => {}),
        add: (_, meta) => void told.push([id, ...Object.keys(meta)]),
      }),
    });
    const spies = [spy('deaf', {}), spy('hears', { usesInterval: true }), spy('sees', { usesBehaviour: true })];
    const field = laneField(
      spies.map(({ id }) => ({ strategy: id, parameters: {} })),
      context,
      [],
      spies,
    );
    expect([field.usesInterval, field.usesBehaviour]).toEqual([true, true]);
    const session = startSession(scenario, '1');
    const sweep = session.nextSweep();
    if (sweep) field.add(sweep.recordedUv[0], sweepMeta(sweep, 0, field));
    expect(told[1]).toContain('interval');
    expect(told[0]).not.toContain('interval');
    expect(told[2]).toContain('moved');
  });
});

describe('what is told along with a sweep', () => {
  it('intervals join to the continuous recording and end with the sweep', () => {
    const session = startSession(scenario, '3');
    const pieces: { from: number; samplesUv: Float64Array }[] = [];
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
      const { samplesUv, firstSample } = sweep.interval(0);
      expect(samplesUv.subarray(samplesUv.length - context.samplesPerSweep)).toEqual(sweep.recordedUv[0]);
      const last = pieces.at(-1);
      if (last) expect(firstSample).toBe(last.from + last.samplesUv.length);
      pieces.push({ from: firstSample, samplesUv });
    }
    expect(pieces.length).toBe(session.sweepCount);
  });

  it('the motion sensor speaks while something moves, for any block size, and disturbs nothing', () => {
    const run = (block: number, ask: boolean) => {
      const session = startSession(scenario, '3', block);
      const moved: unknown[] = [];
      let sum = 0;
      for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
        if (ask) moved.push(sweep.behaviour().moved);
        sum += sweep.recordedUv[0][7];
      }
      return { moved, sum };
    };
    const one = run(1024, true);
    expect(new Set(one.moved)).toEqual(new Set([true, false]));
    expect(run(37, true)).toEqual(one);
    expect(run(1024, false).sum).toBe(one.sum);
  });

  it('the gaze sensor follows the gaze of an ocular session', () => {
    const ocular = resolveScenario({
      response: { kind: 'ovemp' },
      session: { durationS: 30 },
      stimulus: { trainS: 0, restS: 0 },
    });
    const session = startSession(ocular, '3');
    const gazes: number[] = [];
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep())
      gazes.push(sweep.behaviour().gazeDeg ?? Number.NaN);
    expect(gazes[0]).toBe(ocular.gaze.targetDeg);
    expect(gazes.at(-1)).toBeLessThan(ocular.gaze.targetDeg);
  });
});

describe('oracle', () => {
  it('weighs by the true noise of the neighbourhood, two sweeps later', () => {
    const knowing = oracle(context);
    const sweep = (uv: number) => new Float64Array(context.samplesPerSweep).fill(uv);
    const powers = [1, 1, 1, 1, 1, 100, 100, 100, 100, 100];
    for (const [index, power] of powers.entries()) {
      knowing.add(sweep(power === 1 ? 0 : 1), { index, timeS: index, polarity: 1, overRange: false }, power);
    }
    expect(knowing.usedCount()).toBe(8);
    const out = sweep(0);
    knowing.read(out);
    expect(out[0]).toBeLessThan(0.05);
  });

  it('is quieter than the plain mean in a patient who clenches, and its lanes have a regret', () => {
    const document = { ...preset('jaw-clencher'), session: { durationS: 10 } };
    const clencher = resolveScenario(document);
    const lanes = [laneOf(clencher, 'plain-mean')];
    const steps = race(clencher, { seed: '1', replicates: 3, targetNv: 200, lanes, oracle: true });
    let step = steps.next();
    while (!step.done) step = steps.next();
    const {
      lanes: [plain],
      oracle: best,
    } = step.value;
    expect(best?.expectedResidualNoiseNv.value).toBeLessThan(plain.expectedResidualNoiseNv.value);
    expect(plain.regret?.noiseRatio).toBeGreaterThan(1);
  });
});

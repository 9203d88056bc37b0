import { describe, expect, it } from 'vitest';
import { gazeProcess, gazeShare } from '../../../src/core/response/gazeProcess.ts';
import { ocularWaves } from '../../../src/core/response/ocularVemp.ts';
import { resolveScenario, scenarioStages } from '../../../src/core/scenario/resolve.ts';
import { presentationCount } from '../../../src/core/stimulus/schedule.ts';
import { mean, standardDeviation } from '../sampleStatistics.ts';
import { meanTruth, peak, QUIET } from './meanTruth.ts';

const vemp = (document: object = {}) => resolveScenario({ response: { kind: 'ovemp' }, ...document });

describe('gazeShare', () => {
  const shares = [
    [-10, 0.38, 'down is no worse than ahead'],
    [0, 0.38, 'ahead'],
    [35, 1, 'full gaze'],
    [40, 1, 'further up gives no more'],
    [17.5, 0.38 + 0.62 * 0.5 ** 1.3, 'half way'],
  ] as const;
  it.each(shares)('%d°: %d', (angle, expected, why) => {
    expect(gazeShare(angle), why).toBeCloseTo(expected, 9);
  });
});

describe('gazeProcess', () => {
  /** Mean share of the response over a session. */
  function share(stimulus: object, durationS: number, seed: string): number {
    const scenario = vemp({ stimulus: { trainS: 0, restS: 0, ...stimulus }, session: { durationS } });
    const angle = gazeProcess(scenario, seed);
    const count = presentationCount(scenario);
    let sum = 0;
    for (let index = 0; index < count; index++) sum += gazeShare(angle(index));
    return sum / count;
  }
  const sessions = [
    // trains, seconds, prototype figure for the amplitude that is read
    [{}, 30, 0.68],
    [{}, 60, 0.56],
    [{ trainS: 10, restS: 8 }, 30, 0.94],
    [{ trainS: 8, restS: 8 }, 32, 0.96],
  ] as const;
  it.each(sessions)('%j for %d s: %d of the amplitude: 500 patients', (stimulus, seconds, prototype) => {
    const shares = Array.from({ length: 500 }, (_, k) => share(stimulus, seconds, String(k)));
    const standardError = standardDeviation(shares) / Math.sqrt(500);
    // The prototype's own scatter is not known; 0.03 covers it.
    expect(Math.abs(mean(shares) - prototype), `measured ${mean(shares)}`).toBeLessThan(4 * standardError + 0.03);
  });

  it('too short a rest is a shorter hold, each train costs a tenth', () => {
    const steady = { holdS: 60, lossPerTrain: 0 };
    const first = (restS: number, gaze: object) => {
      const scenario = vemp({ stimulus: { trainS: 60, restS }, session: { durationS: 120 }, gaze });
      const angle = gazeProcess(scenario, '4');
      let held = 0;
      for (let index = 0; index < presentationCount(scenario); index++) {
        if (angle(index) === 35 && index >= 306) held++;
      }
      return held; // in the second train, which begins with stimulus 306
    };
    const [rested, hurried, worn] = [first(8, steady), first(4, steady), first(8, { ...steady, lossPerTrain: 0.5 })];
    expect(hurried / rested).toBeCloseTo(0.5, 1);
    expect(worn / rested).toBeCloseTo(0.5, 1);
  });

  it('a pause is a rest: the gaze comes up again, for a hold of its own', () => {
    const document = { stimulus: { trainS: 0, restS: 0, ratePerS: 10 }, session: { durationS: 60 } };
    const angles = (events: object[], seed: string) => {
      const angle = gazeProcess(vemp({ ...document, events }), seed);
      return Array.from({ length: 600 }, (_, index) => angle(index));
    };
    let longer = 0;
    for (let k = 0; k < 50; k++) {
      const plain = angles([], String(k));
      const rested = angles([{ atS: 40, pauseS: 8 }], String(k));
      const hurried = angles([{ atS: 40, pauseS: 2 }], String(k));
      expect(rested.slice(0, 400)).toEqual(plain.slice(0, 400));
      expect(rested[400]).toBe(35);
      const held = (list: number[]) => list.slice(400).filter((deg) => deg === 35).length;
      expect(held(hurried)).toBeLessThanOrEqual(held(rested));
      if (held(hurried) < 0.4 * held(rested)) longer++;
    }
    expect(longer).toBeGreaterThan(40); // but for holds that outlast the session
  });

  describe('asked to look up in a session without trains', () => {
    const document = { stimulus: { trainS: 0, restS: 0, ratePerS: 10 }, session: { durationS: 60 } };
    /** Angles of the whole session, as the stages of its events play it. */
    const angles = (events: object[], seed: string, gaze = {}) => {
      const stages = scenarioStages(vemp({ ...document, events, gaze }));
      const gazes = stages.map(({ scenario }) => gazeProcess(scenario, seed));
      return Array.from({ length: 600 }, (_, index) => {
        const now = gazes.map((gaze) => gaze(index));
        return now[stages.findLastIndex(({ fromS }) => index / 10 >= fromS)];
      });
    };
    const up = (atS: number) => ({ atS, action: 'look-up' });
    const ahead = (atS: number) => ({ atS, action: 'look-ahead' });

    it('the gaze comes up again, after looking ahead and after a sag', () => {
      for (const seed of ['1', '2', '3', '4']) {
        const brought = angles([ahead(20), up(40)], seed);
        expect(brought.slice(200, 400).every((deg) => deg === 0)).toBe(true);
        expect(brought.slice(400, 405)).toEqual(Array(5).fill(35));
        const plain = angles([], seed);
        const sagged = angles([up(50)], seed);
        expect(sagged.slice(0, 500)).toEqual(plain.slice(0, 500));
        if (plain[499] < 6) expect(sagged[500]).toBe(35);
        expect(Math.min(...brought.slice(400)), 'sags as it did').toBeGreaterThanOrEqual(5);
        expect(
          angles(
            [
              { atS: 20, set: { 'gaze.targetDeg': 0 } },
              { atS: 40, set: { 'gaze.targetDeg': 35 } },
            ],
            seed,
          ),
        ).toEqual(brought);
      }
    });

    it('holds the shorter, the shorter the rest was', () => {
      let shorter = 0;
      for (let k = 0; k < 40; k++) {
        const held = (list: number[]) => list.slice(400).filter((deg) => deg === 35).length;
        const [rested, hurried] = [20, 39].map((atS) => held(angles([ahead(atS), up(40)], String(k), { holdS: 60 })));
        expect(hurried).toBeLessThanOrEqual(rested);
        if (hurried < 0.5 * rested) shorter++;
      }
      expect(shorter).toBeGreaterThan(15); // the others hold to the end of the session, or had sagged long before, and rested since
    });

    it('comes up from the start for a gaze that began ahead', () => {
      const start = vemp({ ...document, gaze: { targetDeg: 0 }, events: [up(30)] });
      const gaze = gazeProcess(scenarioStages(start)[1].scenario, '5');
      const late = Array.from({ length: 320 }, (_, index) => gaze(index)).slice(300);
      expect(late[0]).toBe(35);
    });
  });

  it('sags to where it ends with its time constant', () => {
    const scenario = vemp({ stimulus: { ratePerS: 10, trainS: 0, restS: 0 }, gaze: { holdS: 0.5 } });
    const angle = gazeProcess(scenario, '1');
    const angles = Array.from({ length: 600 }, (_, k) => angle(k));
    const sagging = angles.filter((deg) => deg < 35 && deg > 6);
    for (let k = 1; k < sagging.length; k++) {
      expect((sagging[k] - 5) / (sagging[k - 1] - 5)).toBeCloseTo(Math.exp(-0.05), 9);
    }
    expect(angles[599]).toBeCloseTo(5, 9);
  });
});

describe('ocularWaves', () => {
  const nToP = (document: object, channel: 'ipsilateral' | 'contralateral' = 'contralateral', seed = '1') => {
    const waves = ocularWaves(vemp(document), channel, seed);
    return waves.length === 0 ? 0 : (waves[1].amplitudeUv - waves[0].amplitudeUv) / 1.01;
  };
  it('6 µV on the other side at 97 dB nHL, 0.35 of it and 1.2 ms later on this', () => {
    expect(nToP({ stimulus: { ratePerS: 5 } })).toBeCloseTo(6, 9);
    expect(nToP({ stimulus: { ratePerS: 5 } }, 'ipsilateral')).toBeCloseTo(2.1, 9);
    const [crossed] = ocularWaves(vemp(), 'contralateral', '1');
    const [same] = ocularWaves(vemp(), 'ipsilateral', '1');
    expect(crossed.latencyMs).toBe(10.3);
    expect(same.latencyMs - crossed.latencyMs).toBeCloseTo(1.2, 9);
  });

  it('nothing below threshold; a third window doubles it and more', () => {
    expect(nToP({ stimulus: { levelDbNhl: 82 } })).toBe(0);
    expect(nToP({ vestibular: { thirdWindow: true } }) / nToP({})).toBeCloseTo(35 / 15, 9);
    expect(nToP({ vestibular: { strength: 0.25 } }) / nToP({})).toBeCloseTo(0.25, 9);
  });

  it('people differ by the log-size 0.5: 1000 seeds, 4 standard errors', () => {
    const logs = Array.from({ length: 1000 }, (_, k) =>
      Math.log(nToP({ patient: { scatter: 1 }, stimulus: { ratePerS: 5 } }, 'contralateral', String(k)) / 6),
    );
    expect(Math.abs(mean(logs))).toBeLessThan((4 * 0.5) / Math.sqrt(1000));
    expect(Math.abs(standardDeviation(logs) - 0.5)).toBeLessThan((4 * 0.5) / Math.sqrt(2000));
  });
});

describe('the oVEMP through its chain', () => {
  it('n10 then p15, 6 µV from one to the other while the gaze holds', () => {
    const { timesMs, truthUv } = meanTruth({
      ...QUIET,
      response: { kind: 'ovemp', amplitudeLogSd: 0 },
      stimulus: { ratePerS: 5 },
      gaze: { holdS: 600 },
      session: { durationS: 10 },
    });
    const n = peak(timesMs, truthUv[1], -1, 8, 13);
    const p = peak(timesMs, truthUv[1], 1, 13, 19);
    expect(Math.abs(n.ms - 10.3)).toBeLessThan(0.3);
    expect(Math.abs(p.ms - 15.3)).toBeLessThan(0.3);
    expect(Math.abs(p.uv - n.uv - 6)).toBeLessThan(0.15);
  });
});

import { describe, expect, it } from 'vitest';
import { cochlearThresholdDb, heardEars, loudestEarDb, recruited } from '../../../src/core/response/heardEars.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const flat = (db: number) => [db, db, db, db, db];
const test = (stimulus: object, hearing: object) => heardEars(resolveScenario({ stimulus, hearing }));

describe('heardEars: the test ear', () => {
  const levels = [
    // level, hearing, level at which a normal ear would answer like it, why
    [75, {}, 75, 'normal'],
    [75, { conductiveDb: 30 }, 45, 'conductive: parallel shift'],
    [60, { thresholdsDbHl: flat(45) }, 15 + 45 * (1 / 3) ** 2.5, 'recruitment: 15 + 45·(15/45)^2.5'],
    [89.999, { thresholdsDbHl: flat(45) }, 89.997, 'recruited all but whole'],
    [95, { thresholdsDbHl: flat(45) }, 95, 'loud: as in a normal ear'],
    [95, { thresholdsDbHl: flat(92) }, 3 + 92 * 0.1 ** 2.5, 'severe: 3 + 92·(3/30)^2.5'],
    [80, { conductiveDb: 20, thresholdsDbHl: flat(45) }, 15 + 45 * (1 / 3) ** 2.5, 'mixed loss: conduction first'],
  ] as const;
  it.each(levels)('%d dB nHL, %j: like %d dB', (levelDbNhl, hearing, expected, why) => {
    expect(test({ levelDbNhl }, hearing)[0].levelDbNhl, why).toBeCloseTo(expected, 2);
  });

  it('hears nothing up to its threshold', () => {
    for (const levelDbNhl of [-5, 30, 45]) expect(test({ levelDbNhl }, { thresholdsDbHl: flat(45) })).toEqual([]);
    expect(loudestEarDb(resolveScenario({ hearing: { thresholdsDbHl: flat(90) } }))).toBeNull();
  });

  it('recruitment is steep: the growth from just heard to 90 dB is squeezed into less', () => {
    const at = (levelDbNhl: number) => test({ levelDbNhl }, { thresholdsDbHl: flat(50) })[0].levelDbNhl;
    expect(at(80) - at(70)).toBeCloseTo(10 + 50 * (0.75 ** 2.5 - 0.5 ** 2.5), 9);
    expect(at(55) - at(50.001)).toBeLessThan(6); // but a sound just heard grows as in a normal ear
  });

  it('timing follows the sound itself more than its size does: a flat loss is hardly late', () => {
    const [ear] = test({ levelDbNhl: 60 }, { thresholdsDbHl: flat(45) });
    expect(ear.timingDbNhl).toBeCloseTo(60 - 0.2 * (60 - ear.levelDbNhl), 9);
    expect(test({ levelDbNhl: 90 }, { thresholdsDbHl: flat(45) })[0].timingDbNhl).toBe(90);
    expect(test({ levelDbNhl: 75 }, { conductiveDb: 30 })[0].timingDbNhl).toBe(45);
  });

  it('jumps nowhere: a decibel more of sound or of loss is little more or less of hearing', () => {
    const size = (levelDb: number, lossDb: number) => Math.max(0, recruited(levelDb, lossDb).levelDbNhl);
    for (let levelDb = 0; levelDb <= 125; levelDb++) {
      for (let lossDb = 0; lossDb < 120; lossDb++) {
        expect(Math.abs(size(levelDb, lossDb + 1) - size(levelDb, lossDb))).toBeLessThan(9);
        expect(size(levelDb + 1, lossDb) - size(levelDb, lossDb)).toBeGreaterThanOrEqual(0);
        expect(size(levelDb + 1, lossDb) - size(levelDb, lossDb)).toBeLessThan(9);
      }
    }
    expect(size(95, 89)).toBeCloseTo(size(95, 90), -1); // 7.6 and 6.0 dB
  });

  it('bone conduction passes the middle ear', () => {
    expect(test({ levelDbNhl: 40, transducer: 'bone' }, { conductiveDb: 30 })[0].levelDbNhl).toBe(40);
  });
});

describe('cochlearThresholdDb', () => {
  const thresholdsDbHl = [10, 20, 40, 60, 80];
  const places = [
    [{ kind: 'click' }, 50, 'click: mean of 2 and 4 kHz'],
    [{ kind: 'tone-burst', frequencyHz: 500 }, 10, 'lowest'],
    [{ kind: 'tone-burst', frequencyHz: 250 }, 10, 'below the audiogram: as at its edge'],
    [{ kind: 'tone-burst', frequencyHz: 4000 }, 60, 'own frequency'],
    [{ kind: 'tone-burst', frequencyHz: 1414.213562373095 }, 30, 'half an octave: half way'],
    [{ kind: 'tone-burst', frequencyHz: 8000 }, 80, 'highest'],
  ] as const;
  it.each(places)('%j: %d dB', (stimulus, expected, why) => {
    const response = { kind: stimulus.kind === 'click' ? 'click-abr' : 'tone-abr' };
    const scenario = resolveScenario({ stimulus, response, hearing: { thresholdsDbHl } });
    expect(cochlearThresholdDb(scenario), why).toBeCloseTo(expected, 9);
  });
});

describe('heardEars: the far ear', () => {
  const deaf = { crossHearing: true, thresholdsDbHl: flat(120) };
  const crossings = [
    // stimulus, far threshold, level in the far ear or null, why
    [{ levelDbNhl: 90 }, 0, 30, 'insert earphone: 60 dB'],
    [{ levelDbNhl: 90, transducer: 'supra-aural' }, 0, 50, 'on the ear: 40 dB'],
    [{ levelDbNhl: 40, transducer: 'bone' }, 0, 40, 'bone: nothing lost'],
    [{ levelDbNhl: 90 }, 40, null, 'far ear too deaf'],
    [{ levelDbNhl: 90, maskingDb: 29 }, 0, 1 + 29 / 61 ** 2.5, 'a decibel short of enough masking'],
    [{ levelDbNhl: 90, maskingDb: 30 }, 0, null, 'masked: M ≥ L − attenuation'],
  ] as const;
  it.each(crossings)('%j, threshold %d: %s', (stimulus, farThresholdDbHl, expected, why) => {
    const ears = test(stimulus, { ...deaf, farThresholdDbHl });
    if (expected === null) expect(ears, why).toEqual([]);
    else {
      expect(ears.map(({ side }) => side)).toEqual(['far']);
      expect(ears[0].levelDbNhl, why).toBeCloseTo(expected, 9);
    }
  });

  it('is out of reach unless the scenario says otherwise', () => {
    expect(test({ levelDbNhl: 100, transducer: 'supra-aural' }, {})).toHaveLength(1);
    expect(test({ levelDbNhl: 100, transducer: 'supra-aural' }, { crossHearing: true })).toHaveLength(2);
  });

  it('over-masking comes back and lifts the test ear', () => {
    const ears = (maskingDb: number) => test({ levelDbNhl: 40, maskingDb }, { crossHearing: true });
    expect(ears(60)[0]).toEqual({ side: 'test', levelDbNhl: 40, timingDbNhl: 40 });
    expect(ears(90)[0].levelDbNhl).toBeCloseTo(10 + 30 / 6 ** 2.5, 9); // threshold lifted to 30
    expect(ears(100)).toEqual([]); // lifted to 40: nothing is heard any more
  });
});

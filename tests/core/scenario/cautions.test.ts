import { describe, expect, it } from 'vitest';
import { approximateDbSpl, cautionsFor } from '../../../src/core/scenario/cautions.ts';
import { presets } from '../../../src/core/scenario/presets.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

const cautions = (document: object) => cautionsFor(resolveScenario(document)).join('\n');

describe('cautionsFor', () => {
  it('says for every scenario that it is no diagnosis and that the local protocol comes first', () => {
    for (const { id } of presets) {
      const text = cautions(presets.find((entry) => entry.id === id) as object);
      expect(text).toMatch(/no diagnosis/);
      expect(text).toMatch(/local protocol/);
    }
    expect(cautionsFor(resolveScenario({}))).toHaveLength(2);
  });

  const loud = [
    [{ response: { kind: 'cvemp' } }, true, 'muscle response'],
    [{ response: { kind: 'ovemp' }, stimulus: { levelDbNhl: 70 } }, true, 'muscle response at any level'],
    [{ stimulus: { levelDbNhl: 90 } }, true, 'loud click'],
    [{ stimulus: { levelDbNhl: 89.9 } }, false, 'usual click'],
    [{ stimulus: { levelDbNhl: 40, transducer: 'bone' } }, false, 'nothing goes through the canal'],
  ] as const;
  it.each(loud)('%j: level, canal and exposure %s', (document, expected, why) => {
    for (const word of [/dB SPL/, /ear canal/, /Count both ears/, /illustrative/, /must not be listened to/]) {
      expect(word.test(cautions(document)), `${why}: ${word}`).toBe(expected);
    }
  });

  it('counts the exposure: 153 bursts of 10 ms at 120.5 dB are 1.5 s, 19 % of a day', () => {
    expect(approximateDbSpl(resolveScenario({ response: { kind: 'cvemp' } }))).toBe(120.5);
    // 8 h / 2^(35.5/3) = 7.9 s by hand.
    expect(cautions({ response: { kind: 'cvemp' } })).toContain('153 sounds, 1.5 s of sound in all: about 19 %');
    expect(cautions({ response: { kind: 'cvemp' }, stimulus: { levelDbNhl: 100 } })).toContain('about 39 %');
  });

  it('stays below 140 dB at the peak, at the loudest that a scenario may ask for (E06)', () => {
    for (const stimulus of [{ levelDbNhl: 100 }, { levelDbNhl: 100, kind: 'tone-burst', frequencyHz: 4000 }]) {
      const response = { kind: 'kind' in stimulus ? 'tone-abr' : 'click-abr' };
      const peakDb = Number(/(\d+) dB at its peak/.exec(cautions({ stimulus, response }))?.[1]);
      expect(peakDb).toBeGreaterThan(120);
      expect(peakDb).toBeLessThan(140);
    }
  });

  it('names no level twice as exact as it is: whole decibels', () => {
    expect(cautions({ response: { kind: 'ovemp' } })).toMatch(/about 121 dB SPL .*, 124 dB at its peak;/);
  });
});

import { describe, expect, it } from 'vitest';
import { approximateDbSpl, cautionsFor, loudestDbNhl, loudPart } from '../../../src/core/scenario/cautions.ts';
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

  it('counts what events make louder: one burst at 60 dB, then 152 at 100 dB', () => {
    const louder = (atS: number) => ({ events: [{ atS, set: { 'stimulus.levelDbNhl': 100 } }] });
    const text = cautions({ response: { kind: 'cvemp' }, stimulus: { levelDbNhl: 60 }, ...louder(0.1) });
    expect(text).toContain('100 dB nHL, the loudest of this run, is loud: about 124 dB SPL');
    // 152 · 10 ms = 1.52 s at 123.5 dB; a day allows 8 h / 2^(38.5/3) = 3.94 s of it, by hand.
    expect(text).toContain('153 sounds, 1.5 s of sound in all: about 39 %');
    const click = { stimulus: { levelDbNhl: 40 }, ...louder(60) };
    expect(cautions(click)).toMatch(/100 dB nHL, .* is loud/);
    expect(loudestDbNhl(resolveScenario(click))).toBe(100);
    const half = /about (\d+) % of what/;
    const whole = Number(half.exec(cautions({ stimulus: { levelDbNhl: 100 } }))?.[1]);
    expect(Number(half.exec(cautions(click))?.[1]) / whole, 'half the session').toBeCloseTo(0.5, 1);
  });

  it('counts a loud masking noise, which lasts as long as the session', () => {
    const masked = { session: { durationS: 120 }, stimulus: { levelDbNhl: 60, maskingDb: 100 } };
    // 115 dB SPL: a day allows 8 h / 2^(30/3) = 28.1 s of it, by hand; 120 s are 427 %.
    expect(cautions(masked)).toContain(
      'a noise of about 115 dB SPL in the other ear without a break, 120 s in all: about 427 %',
    );
    expect(cautions(masked)).toContain('must not be listened to');
    expect(loudPart(resolveScenario(masked))).toBe('masking by 100 dB');
    const usual = resolveScenario({ stimulus: { levelDbNhl: 60, maskingDb: 79.9 } });
    expect([cautionsFor(usual).length, loudPart(usual)]).toEqual([2, null]);
    const both = { ...masked, stimulus: { levelDbNhl: 95, maskingDb: 100 } };
    expect(cautionsFor(resolveScenario(both))).toHaveLength(7);
    expect(loudPart(resolveScenario(both))).toBe('95 dB nHL');
    // Switched on for the last 30 s: a quarter of the exposure.
    const events = [{ atS: 90, set: { 'stimulus.maskingDb': 100 } }];
    const late = { session: { durationS: 120 }, stimulus: { levelDbNhl: 60 }, events };
    expect(cautions(late)).toContain('30 s in all: about 107 %');
    expect(cautions({ ...late, stimulus: { levelDbNhl: 60, maskingDb: 50 } })).toContain(
      '100 dB, the most of this run,',
    );
  });

  it('leaves out a level at which no sound comes, and what goes through the bone', () => {
    const to = (levelDbNhl: number) => ({ atS: 3, set: { 'stimulus.levelDbNhl': levelDbNhl } });
    expect(cautionsFor(resolveScenario({ events: [to(100), to(40)] }))).toHaveLength(2);
    const bone = { atS: 0, set: { 'stimulus.transducer': 'bone', 'stimulus.levelDbNhl': 40 } };
    expect(cautionsFor(resolveScenario({ stimulus: { levelDbNhl: 95 }, events: [bone] }))).toHaveLength(2);
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

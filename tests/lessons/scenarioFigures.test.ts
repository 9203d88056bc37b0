import { describe, expect, it } from 'vitest';
import { computeFigure } from '../../src/lessons/figures.ts';
import { startSettings } from '../../src/lessons/lessonRun.ts';
import { readLesson } from '../../src/lessons/readLesson.ts';
import { lessonDocument } from './lessonFolders.ts';

// biome-ignore lint/suspicious/noExplicitAny: a document is changed here and there
const document = lessonDocument('quieter-by-the-root') as any;
const room = {
  ...{ 'room.fieldUt': 1, 'room.leadCurrentNaPerM': 5, 'electrodes.ipsilateral.contactFactor': 2.5 },
  ...{ 'room.fieldHarmonicRatios': [1], 'room.leadHarmonicRatios': [1] },
};
for (const [id, more] of Object.entries({ spread: {}, bunched: { 'leads.loopM2PerM': 0.01 } })) {
  document.runs.push({ id, title: id, bench: false, settings: [], change: { ...room, ...more } });
}
const theLesson = readLesson(document, 'x');
const value = (figure: Parameters<typeof computeFigure>[0], settings = startSettings(theLesson)) =>
  computeFigure(figure, { lesson: theLesson, settings, measures: new Map() }).value;

describe('figures of the scenario', () => {
  it('pickup of the loop is 2πfBA, and powers of the paths add', () => {
    const loop = value({ figure: 'pickup', run: 'spread', path: 'loop' });
    expect(loop).toBeCloseTo(2 * Math.PI * 50 * 1 * 0.06, 6); // µV: µT·m²/s
    const paths = (['imbalance', 'rejection', 'lead', 'loop', 'lamp'] as const).map((path) =>
      value({ figure: 'pickup', run: 'spread', path }),
    );
    expect(value({ figure: 'pickup', run: 'spread' })).toBeCloseTo(Math.hypot(...paths), 9);
  });

  it('decibels, ratio and distance of two', () => {
    const of = { figure: 'pickup', run: 'spread', path: 'loop' } as const;
    const to = { figure: 'pickup', run: 'bunched', path: 'loop' } as const;
    expect(value({ figure: 'ratio', of, to })).toBeCloseTo(5, 9);
    expect(value({ figure: 'decibels', of, to })).toBeCloseTo(20 * Math.log10(5), 9);
    expect(value({ figure: 'distance', of, to })).toBeCloseTo(value(of) - value(to), 12);
    expect(value({ figure: 'distance', of: to, to: of })).toBeCloseTo(value(of) - value(to), 12);
  });

  it('counts what the learner moved', () => {
    const [{ id }] = theLesson.settings;
    const start = startSettings(theLesson);
    expect(value({ figure: 'changed', settings: [id] })).toBe(0);
    expect(value({ figure: 'changed', settings: [id] }, { ...start, [id]: Number(start[id]) + 1 })).toBe(1);
  });
});

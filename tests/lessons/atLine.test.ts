import { describe, expect, it } from 'vitest';
import { atLine, textAtLine } from '../../src/lessons/atLine.ts';

describe('textAtLine', () => {
  const cases = [
    ['at [[25|30]]/s', 'at 25/s', 'at 30/s', 'a number in a text'],
    ['[[a|b]] and [[c|d]]', 'a and c', 'b and d', 'several'],
    ['[[one]] and | alone', '[[one]] and | alone', '[[one]] and | alone', 'no variant: stays as it is'],
    ['[[|only there]]', '', 'only there', 'nothing on one side'],
  ] as const;
  it.each(cases)('%j is %j at 50 Hz and %j at 60 Hz: %s', (text, at50, at60) => {
    expect(textAtLine(text, 50)).toBe(at50);
    expect(textAtLine(text, 60)).toBe(at60);
  });
});

describe('atLine', () => {
  const document = {
    rate: { at50: 25, at60: 30 },
    list: [{ at50: 'a', at60: '[[x|y]]' }],
    other: { at50: 1 },
    none: null,
  };
  it('picks values anywhere, and texts within them', () => {
    expect(atLine(document, 50)).toEqual({ rate: 25, list: ['a'], other: { at50: 1 }, none: null });
    expect(atLine(document, 60)).toEqual({ rate: 30, list: ['y'], other: { at50: 1 }, none: null });
  });
});

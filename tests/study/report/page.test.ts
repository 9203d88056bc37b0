import { describe, expect, it } from 'vitest';
import { blocksOf } from '../../../src/study/block.ts';
import { gatherRows } from '../../../src/study/gathered.ts';
import { reportPage } from '../../../src/study/report/page.ts';
import { rowsOfBlock } from '../../../src/study/runBlock.ts';
import { summarise } from '../../../src/study/summary.ts';
import { CHEAP, smallPlan } from '../small.ts';

function page(more: Record<string, string>, finished = true): string {
  const plan = smallPlan(more);
  const gathered = gatherRows(plan);
  const none = () => [];
  for (const condition of plan.conditions.keys()) {
    const settings = plan.settings.map((_, k) => k);
    for (const block of blocksOf(plan, condition, 0, plan.replicates.from, settings)) {
      gathered.add(block, rowsOfBlock(plan, block, '0.1.0+test', none));
    }
  }
  return reportPage(plan, gathered, summarise(plan, gathered), '0.1.0+test', finished);
}

const text = page({
  question: '"Which <b>one</b> & why?"',
  answer: '"This one."',
  scenarios: `[{ id: clencher, scenario: jaw-clencher, set: ${CHEAP}, draw: { muscle.burstUv: { uniform: [10, 40] } } }]`,
  vary: '{ muscle.durationS: [0.1, 0.2, 0.4] }',
  strategies: '[{ strategy: plain-mean }, { strategy: block-weighting, parameters: { blockLength: [4, 8, 16] } }]',
});

/** Whether a page has these words; whole pages make no readable failures. */
const has = (whole: string, words: string | RegExp) => [
  words,
  typeof words === 'string' ? whole.includes(words) : words.test(whole),
];

describe('the report', () => {
  it('is one page that loads nothing and runs nothing', () => {
    expect(has(text, /^<!doctype html>/)).toEqual([expect.anything(), true]);
    expect(has(text, /<script|<link|<img|<iframe|@import|url\(|(src|href)=/i)).toEqual([expect.anything(), false]);
    expect(has(text, "default-src 'none'")).toEqual(["default-src 'none'", true]);
    expect(text.match(/https?:\/\/[^"\s<]+/g)?.every((address) => address === 'http://www.w3.org/2000/svg')).toBe(true);
  });

  it('draws what was asked: curves, breakdown, sensitivity, trade-off, paired differences', () => {
    for (const title of [
      'against blockLength',
      'against muscle.durationS',
      'What matters most',
      'Time to target against bias',
      'noise at the end, paired',
    ]) {
      expect(has(text, title)).toEqual([title, true]);
    }
    expect(has(text, /NaN|Infinity|undefined/)).toEqual([expect.anything(), false]);
    expect(text.match(/<svg[^>]*role="img"/g)?.length).toBe(text.match(/<svg/g)?.length);
    expect(text.match(/<title>/g)?.length).toBe(1 + (text.match(/<svg/g)?.length ?? 0));
  });

  it('escapes what people write, and its own signs', () => {
    expect(has(text, /<[^a-zA-Z!/]|&(?!(amp|lt|gt|quot);)/)).toEqual([expect.anything(), false]);
    expect(has(text, 'Which &lt;b&gt;one&lt;/b&gt; &amp; why?')).toEqual([
      'Which &lt;b&gt;one&lt;/b&gt; &amp; why?',
      true,
    ]);
    expect(has(text, '<b>one</b>')).toEqual(['<b>one</b>', false]);
  });

  it('has the sentences of a methods section', () => {
    for (const words of [
      'hash',
      'seed &quot;1&quot;',
      '4 settings of 2 averaging strategies',
      '3 conditions',
      '6 simulated patients',
      'Clopper and Pearson',
      'Holm',
    ]) {
      expect(has(text, words)).toEqual([words, true]);
    }
  });

  it('says that results are partial, and whether the choice carries over', () => {
    const sealed = page({ test: `[{ id: sealed, set: ${CHEAP} }]` }, false);
    expect(has(sealed, 'Partial results')).toEqual(['Partial results', true]);
    expect(has(sealed, 'sealed test')).toEqual(['sealed test', true]);
    // Bayesian blocks do better than the plain mean on both: there is nothing to warn of.
    expect(has(sealed, 'Warning.')).toEqual(['Warning.', false]);
  });
});

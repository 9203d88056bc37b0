import { describe, expect, it } from 'vitest';
import { averagingStrategies, averagingStrategy } from '../../../src/core/averaging/index.ts';
import { belongsToA } from '../../../src/core/averaging/strategy.ts';

const strategies = averagingStrategies.map((strategy) => [strategy.id, strategy] as const);

describe('averagingStrategies', () => {
  it('have ids and scenario keys of their own, and something to say', () => {
    for (const key of ['id', 'scenarioKey', 'label'] as const) {
      expect(new Set(averagingStrategies.map((strategy) => strategy[key])).size).toBe(averagingStrategies.length);
    }
    for (const { id, scenarioKey, label, summary } of averagingStrategies) {
      expect(id).toMatch(/^[a-z]+(-[a-z]+)*$/);
      expect(scenarioKey).toBe(id.replace(/-(.)/g, (_, letter: string) => letter.toUpperCase()));
      expect(label).toMatch(/^[A-Z]/);
      expect(summary).toMatch(/^[A-Z].*\.$/);
    }
  });

  it('are found by id; an unknown one is refused with the choices', () => {
    for (const [id, strategy] of strategies) expect(averagingStrategy(id)).toBe(strategy);
    const choices = averagingStrategies.map(({ id }) => id).join(', ');
    const rule = new RangeError(`unknown averaging strategy "median-ish"; one of ${choices}`);
    expect(() => averagingStrategy('median-ish')).toThrow(rule);
    expect(() => averagingStrategy('toString')).toThrow(RangeError);
  });
});

describe('belongsToA', () => {
  it('deals alternate pairs of sweeps to A and B, so that each holds both polarities', () => {
    expect([0, 1, 2, 3, 4, 5, 6, 7, 8].map(belongsToA).map(Number)).toEqual([1, 1, 0, 0, 1, 1, 0, 0, 1]);
  });
});

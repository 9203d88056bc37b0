import { describe, expect, it } from 'vitest';
import { honestNumber } from '../../../src/web/model/honestNumber.ts';

describe('honestNumber', () => {
  const cases = [
    // value, sd, decimals, firm, faint, why
    [5.6234, 0.08, 3, '5.62', '3', 'hundredths are where the deviation begins'],
    [312.4, 41, 0, '31', '2', 'tens are firm, ones are not'],
    [312.4, 0.3, 0, '312', '', 'all that is shown is firm'],
    [-312.4, 41, 0, '−31', '2', 'the sign goes with the firm digits'],
    [4.45, 1.17, 2, '4', '.45', 'only the ones are firm'],
    [44, 120, 0, '', '44', 'nothing is firm'],
    [-4, 120, 0, '', '−4', 'nor is a sign alone'],
    [5.1, NaN, 1, '', '5.1', 'without a deviation nothing is known to be firm'],
    [5.1, 0, 1, '5.1', '', 'no noise, no doubt'],
    [NaN, 1, 1, '–', '', 'no number'],
  ] as const;
  it.each(cases)('%d ± %d with %d decimals: "%s" firm, "%s" faint (%s)', (value, sd, decimals, firm, faint) => {
    expect(honestNumber(value, sd, decimals)).toEqual({ firm, faint });
  });
});

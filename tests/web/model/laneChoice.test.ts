import { describe, expect, it } from 'vitest';
import { laneText, readLaneText } from '../../../src/web/model/laneChoice.ts';

describe('laneText', () => {
  const cases = [
    // choice, text
    [{ strategy: 'plain-mean', parameters: null }, 'plain-mean'],
    [{ strategy: 'block-weighting', parameters: { blockLength: 16 } }, 'block-weighting,blockLength=16'],
    [{ strategy: 'kalman', parameters: { processNoiseUv2: 1e-9 } }, 'kalman,processNoiseUv2=1e-9'],
  ] as const;
  it.each(cases)('%j is written as %s and read back', (choice, text) => {
    expect(laneText(choice)).toBe(text);
    expect(readLaneText(text)).toEqual(choice);
  });
});

describe('readLaneText', () => {
  const refusals = [
    ['cleverest', 'lane: must begin with one of plain-mean'],
    ['block-weighting,length=3', 'lane block-weighting: tunable must be one of blockLength'],
    ['block-weighting,blockLength=0', 'blockLength must be a number from 2 to 4096 sweeps, got "0"'],
    ['block-weighting,blockLength', 'blockLength must be a number from 2 to 4096 sweeps, got ""'],
  ];
  it.each(refusals)('refuses %s', (text, message) => {
    expect(() => readLaneText(text)).toThrow(message);
  });
});

import { describe, expect, it } from 'vitest';
import { RecordingError, selectChannels } from '../../src/formats/index.ts';
import { awkward } from './selection.fixture.ts';

describe('selectChannels', () => {
  const picked = [
    ['Cz', ['Cz'], 'one'],
    ['A1, Cz', ['A1', 'Cz'], 'in the order asked for'],
    ['mark', ['Mark'], 'case does not count'],
    ['cz', ['cz'], 'where two labels differ by case alone, it does'],
    ['Cz-A1', ['Cz-A1'], 'a difference'],
    ['Fp1-Ref', ['Fp1-Ref'], 'a label that looks like a difference'],
    ['Fp1-Ref-A1,A1 - Cz', ['Fp1-Ref-A1', 'A1-Cz'], 'differences of such labels'],
    ['left, ear', ['left, ear'], 'a label with a comma'],
  ] as const;
  it.each(picked)('%s picks %j (%s)', (text, labels) => {
    expect(selectChannels(awkward, text).map((channel) => channel.label)).toEqual(labels);
  });

  it('subtracts sample by sample', () => {
    expect([...selectChannels(awkward, 'Cz-A1')[0].samplesUv]).toEqual([4, 5, 6.5, 7, 8, 0]);
  });

  const refused = [
    ['Pz', 'made.csv: channel: must be one of Cz, A1, Fp1-Ref, cz, left, ear, Mark, Slow, or A-B of two, got "Pz"'],
    ['', 'got ""'],
    ['Cz,', 'got ""'],
    ['Cz-Pz', 'got "Cz-Pz"'],
    ['Cz-Slow', 'channel Cz-Slow: both must have one rate and unit, got 10 Hz µV and 5 Hz µV'],
  ] as const;
  it.each(refused)('%j is refused with the choices', (text, message) => {
    expect(() => selectChannels(awkward, text)).toThrow(RecordingError);
    expect(() => selectChannels(awkward, text)).toThrow(message);
  });
});

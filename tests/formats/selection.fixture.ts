import type { Recording, RecordingChannel } from '../../src/formats/index.ts';

const channel = (label: string, samplesUv: number[], scaleUv = 1, sampleRateHz = 10): RecordingChannel => ({
  label,
  unit: 'µV',
  sampleRateHz,
  samplesUv: Float64Array.from(samplesUv),
  scaleUv,
});

/** A recording with awkward labels, for the tests of picking channels and events. */
export const awkward: Recording = {
  name: 'made.csv',
  format: 'delimited',
  channels: [
    channel('Cz', [5, 6, 7.5, 8, 9, 1]),
    channel('A1', [1, 1, 1, 1, 1, 1]),
    channel('Fp1-Ref', [2, 2, 2, 2, 2, 2]),
    channel('cz', [0.5, 0, 0, 0, 0, 0]),
    channel('left, ear', [0.5, 0, 0, 0, 0, 0]),
    channel('Mark', [2000, 2000, 0, 1000, 2000, 0, 0, 0], 1000), // codes 2 2 0 1 2 0 0 0, scaled as if they were mV
    channel('Slow', [0.1, 0.2, 0.3], 1, 5),
  ],
  events: [
    { timeS: 0.05, label: 'target, left', source: 'annotation' },
    { timeS: 0.2, label: '7', source: 'status' },
    { timeS: 0.3, label: 'target, left', source: 'annotation', durationS: 1 },
  ],
  missing: [],
  warnings: [],
};

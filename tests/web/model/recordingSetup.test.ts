import { describe, expect, it } from 'vitest';
import { handMadeRow, recordingSetup, stimulusChoices } from '../../../src/web/model/recordingSetup.ts';

const contents = (events: { selector: string; eventCount: number }[], sampleRateHz = 256) => ({
  names: ['a.csv'],
  warnings: [],
  channels: [
    { label: 'Marker', unit: 'µV', sampleRateHz, durationS: 100 },
    { label: 'Cz', unit: 'µV', sampleRateHz, durationS: 100 },
  ],
  events,
});

describe('recordingSetup', () => {
  it('takes the first signal that is no marker, and the first kind of event', () => {
    const setup = recordingSetup(
      contents([
        { selector: 'Marker=1', eventCount: 30 },
        { selector: 'Marker=2', eventCount: 9 },
      ]),
    );
    expect(setup.channel).toBe('Cz');
    expect(stimulusChoices(setup.rows)).toEqual([{ events: 'Marker=1', polarity: 'condensation' }]);
    expect([setup.windowMs, setup.bandHz]).toEqual([
      [-100, 700],
      [1, 30],
    ]);
  });

  it('takes every event whose name tells a polarity, and a window for early responses at a high rate', () => {
    const setup = recordingSetup(
      contents(
        [
          { selector: 'annotation=event swallow', eventCount: 1 },
          { selector: 'annotation=stimulus condensation', eventCount: 30 },
          { selector: 'annotation=stimulus rarefaction', eventCount: 30 },
        ],
        16000,
      ),
    );
    expect(stimulusChoices(setup.rows)).toEqual([
      { events: 'annotation=stimulus condensation', polarity: 'condensation' },
      { events: 'annotation=stimulus rarefaction', polarity: 'rarefaction' },
    ]);
    expect(setup.windowMs).toEqual([-5, 15]);
  });
});

describe('handMadeRow', () => {
  it.each([
    ['rise', 'Aux', 250, 0, 'rise=Aux@250'],
    ['fall', 'Aux', -3.5, 0, 'fall=Aux@-3.5'],
    ['every', 'Aux', 0.0361, 0.5, 'every=0.0361@0.5'],
  ] as const)('writes %s as the reader takes it', (kind, channel, first, second, events) => {
    expect(handMadeRow(kind, channel, first, second)).toMatchObject({ events, isStimulus: true });
  });
});

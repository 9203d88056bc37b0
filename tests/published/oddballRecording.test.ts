import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { RecordingOrder } from '../../src/core/session/recordingOrder.ts';
import { type RecordedLane, runRecording } from '../../src/core/session/recordingRun.ts';
import { readRecording, selectChannels, selectEvents } from '../../src/formats/index.ts';

/**
 * A real recording that nobody here made: auditory oddball, six runs of 120 s, published under BSD-3-Clause by
 * A. Barachant. Target tones are rare and unexpected; the answer behind the ears is a few µV at about 400 ms. A handful
 * of the 328 target sweeps carry large artefacts and ruin the plain mean.
 */
const recordings = [1, 2, 3, 4, 5, 6].map((run) => {
  const name = `run-${run}.csv.gz`;
  return readRecording(name, readFileSync(new URL(`../../../shared/data/auditory-oddball/${name}`, import.meta.url)));
});

// Our own choice: 1–15 Hz, sweeps from −100 to 800 ms, judged from 100 to 600 ms where a late answer must lie;
// rejection at ±75 µV; blocks of 8, so that one artefact costs 8 sweeps and not 32.
const order: RecordingOrder = {
  windowMs: [-100, 800],
  bandHz: [1, 15],
  analysisMs: [100, 600],
  seed: '1',
  lanes: [
    { strategy: 'plain-mean', parameters: {} },
    { strategy: 'threshold-rejection', parameters: { thresholdUv: 75, skipMs: 0 } },
    { strategy: 'block-weighting', parameters: { blockLength: 8, varianceFloorUv2: 0, independentPoints: 10 } },
  ],
};

function run(channel: string, changes: Partial<RecordingOrder> = {}) {
  const signals = recordings.map((recording) => {
    const { samplesUv, sampleRateHz } = selectChannels(recording, channel)[0];
    return { samplesUv, sampleRateHz, eventTimesS: selectEvents(recording, 'Marker0=2') };
  });
  return runRecording(signals, { ...order, ...changes });
}

describe.each(['TP9', 'TP10'])('target tones of the oddball recording at %s', (channel) => {
  const result = run(channel);
  const [plain, rejection, blocks] = result.lanes;

  it('offers all 328 target sweeps', () => {
    expect(result.sweepsOffered).toBe(328);
    expect(result.eventsSkipped).toBe(0);
  });

  it('defeats the plain mean: split-half correlation under 0.6, over 40 random halvings', () => {
    expect(plain.halvesCorrelation).toBeLessThan(0.6);
  });

  it('yields to rejection and to block weighting: over 0.8', () => {
    expect(rejection.halvesCorrelation).toBeGreaterThan(0.8);
    expect(blocks.halvesCorrelation).toBeGreaterThan(0.8);
  });

  it('holds for the one split-buffer pair as well, judged over the whole answer at 2–20 Hz in blocks of 4', () => {
    const lanes = order.lanes.map((lane) =>
      lane.strategy === 'block-weighting' ? { ...lane, parameters: { ...lane.parameters, blockLength: 4 } } : lane,
    );
    const pair = run(channel, { bandHz: [2, 20], analysisMs: [0, 800], lanes }).lanes;
    expect(pair[0].splitCorrelation).toBeLessThan(0.6);
    expect(pair[1].splitCorrelation).toBeGreaterThan(0.8);
    expect(pair[2].splitCorrelation).toBeGreaterThan(0.8);
  });

  it('shows an answer well above what random windows give, for both but not for the plain mean', () => {
    const rise = (lane: RecordedLane) => lane.averageNv / lane.randomWindowNv;
    expect(rise(rejection)).toBeGreaterThan(2);
    expect(rise(blocks)).toBeGreaterThan(2);
    expect(rise(plain)).toBeLessThan(rise(rejection));
  });

  it('has its answer at 350–450 ms, upwards', () => {
    const { averageUv } = rejection;
    const at = averageUv.indexOf(Math.max(...averageUv));
    const latencyMs = result.firstSampleMs + (1000 * at) / result.sampleRateHz;
    expect(latencyMs).toBeGreaterThan(350);
    expect(latencyMs).toBeLessThan(450);
  });
});

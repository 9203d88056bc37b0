import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import { laneName } from '../core/session/lanes.ts';
import type { RecordingResult } from '../core/session/recordingRun.ts';
import type { Recording } from '../formats/index.ts';
import { csvTable, orNull, shown, textTable } from './table.ts';

/** What was found in a recording, and how it was cut. */
export interface RecordingReport {
  version: string;
  recordings: readonly Recording[];
  events: string;
  order: {
    windowMs: readonly [number, number];
    bandHz: readonly [number, number];
    seed: string;
    outside: readonly AveragingStrategy[];
  };
  warnings: readonly string[];
  results: readonly { channel: string; result: RecordingResult }[];
}

/** The stable JSON contract; tests/cli/recording.test.ts holds it. */
export function recordingJson(
  { version, recordings, events, order, warnings, results }: RecordingReport,
  curve: boolean,
) {
  return {
    version,
    recordings: recordings.map(({ name, format }) => ({ name, format })),
    events,
    windowMs: order.windowMs,
    bandHz: order.bandHz,
    seed: order.seed,
    truthKnown: false,
    warnings,
    channels: results.map(({ channel, result }) => ({
      channel,
      sweepsOffered: result.sweepsOffered,
      eventsSkipped: result.eventsSkipped,
      lanes: result.lanes.map((lane) => ({
        strategy: lane.strategy,
        parameters: lane.parameters,
        ownNoiseNv: orNull(lane.ownNoiseNv),
        splitCorrelation: orNull(lane.splitCorrelation),
        halvesCorrelation: orNull(lane.halvesCorrelation),
        averageNv: orNull(lane.averageNv),
        randomWindowNv: orNull(lane.randomWindowNv),
        sweepsUsed: lane.sweepsUsed,
        effectiveSweeps: lane.effectiveSweeps,
        ...(curve ? { curve: lane.curve.map(([sweeps, nv]) => [sweeps, orNull(nv)]) } : {}),
      })),
    })),
  };
}

/** A row for each channel and strategy, or for each point of the curve. */
export function recordingCsv({ version, recordings, events, order, results }: RecordingReport, curve: boolean): string {
  const header = ['version', 'recordings', 'events', 'windowMs', 'bandHz', 'seed', 'channel', 'strategy', 'parameters'];
  const names = recordings.map(({ name }) => name).join(' ');
  const start = [version, names, events, order.windowMs.join(' '), order.bandHz.join(' '), order.seed];
  const lanes = results.flatMap(({ channel, result }) =>
    result.lanes.map((lane) => ({
      lane,
      offered: result.sweepsOffered,
      origin: [...start, channel, lane.strategy, JSON.stringify(lane.parameters)],
    })),
  );
  if (curve) {
    const rows = lanes.flatMap(({ lane, origin }) => lane.curve.map(([sweeps, nv]) => [...origin, sweeps, nv]));
    return csvTable([[...header, 'atSweeps', 'ownNoiseNv'], ...rows]);
  }
  const columns = ['ownNoiseNv', 'splitCorrelation', 'halvesCorrelation', 'averageNv', 'randomWindowNv'];
  const rows = lanes.map(({ lane, offered, origin }) => [
    ...[...origin, lane.ownNoiseNv, lane.splitCorrelation, lane.halvesCorrelation, lane.averageNv],
    ...[lane.randomWindowNv, offered, lane.sweepsUsed, lane.effectiveSweeps],
  ]);
  return csvTable([[...header, ...columns, 'sweepsOffered', 'sweepsUsed', 'effectiveSweeps'], ...rows]);
}

/** A table for each channel, with what its columns mean. */
export function recordingText({ version, recordings, events, order, results }: RecordingReport): string {
  const names = recordings.map(({ name, format }) => `${name} (${format})`).join(', ');
  const header = [
    'strategy',
    'own claim nV',
    'average nV',
    'random windows nV',
    'split r',
    'halves r',
    'used',
    'effective',
  ];
  const parts = results.map(({ channel, result }) => {
    const rows = result.lanes.map((lane) => {
      const { thresholdUv, blockLength } = lane.parameters;
      const setting = thresholdUv ? ` ±${thresholdUv} µV` : blockLength ? ` of ${blockLength}` : '';
      return [
        laneName(lane, order.outside) + setting,
        shown(lane.ownNoiseNv, 0),
        shown(lane.averageNv, 0),
        shown(lane.randomWindowNv, 0),
        shown(lane.splitCorrelation, 2),
        shown(lane.halvesCorrelation, 2),
        `${lane.sweepsUsed}/${result.sweepsOffered}`,
        shown(lane.effectiveSweeps, 0),
      ];
    });
    const skipped = result.eventsSkipped > 0 ? `, ${result.eventsSkipped} events too near an end or a gap` : '';
    return `Channel ${channel}: ${result.sweepsOffered} sweeps${skipped}\n\n${textTable([header, ...rows])}`;
  });
  return [
    `Sweepwise ${version} · ${names}`,
    `events ${events} · window ${order.windowMs.join(' to ')} ms · band ${order.bandHz.join('–')} Hz · seed ${order.seed}`,
    '',
    parts.join('\n\n'),
    '',
    'The truth is not known here: no true residual noise, no gain. What is known: each claim of its own noise, the',
    'agreement of split buffers (r of the pair; halves r: mean over 40 random halvings), and how large the same average',
    'is at random times, where there is no stimulus.',
  ].join('\n');
}

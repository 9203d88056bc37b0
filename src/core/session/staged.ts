import type { Chain } from '../chain/chain.ts';
import { type DelayLine, delayLine } from '../chain/delayLine.ts';
import type { LeadMixing } from '../chain/leadConnections.ts';
import type { PlayingNoise } from '../noise/noiseSource.ts';
import type { Stage } from '../scenario/resolve.ts';
import type { Scenario } from '../scenario/schema.ts';

/** A thing that holds from one sample of the recording to another. */
interface Span<T> {
  thing: T;
  from: number;
  to: number;
}

/**
 * Makes a thing anew for each stage of a session, or keeps it where nothing that it read has changed.
 *
 * Which sections of the scenario a maker reads is noted while it runs.
 */
export function makeStaged<T>(
  stages: readonly Stage[],
  sampleOf: (timeS: number) => number,
  make: (scenario: Scenario) => T,
): Span<T>[] {
  const spans: (Span<T> & { read: Set<string>; scenario: Scenario })[] = [];
  for (const [k, { fromS, scenario }] of stages.entries()) {
    const from = k === 0 ? 0 : sampleOf(fromS);
    const to = k + 1 < stages.length ? sampleOf(stages[k + 1].fromS) : Infinity;
    const last = spans[spans.length - 1];
    const same = (key: string) =>
      JSON.stringify(last.scenario[key as keyof Scenario]) === JSON.stringify(scenario[key as keyof Scenario]);
    if (last && [...last.read].every(same)) {
      last.to = to;
      continue;
    }
    const read = new Set<string>();
    const watched = new Proxy(scenario, {
      get(target, key, receiver) {
        if (typeof key === 'string') read.add(key);
        return Reflect.get(target, key, receiver);
      },
    });
    spans.push({ thing: make(watched), from, to, read, scenario });
  }
  return spans;
}

/**
 * Plays one source, or the response, through all stages.
 *
 * Each stage's instance runs from sample 0, because what it draws is tied to time; it is heard only while its stage
 * lasts. So the recording before an event is, to the bit, the one without the event.
 */
export function stagedSignal(spans: readonly Span<PlayingNoise | null>[]): PlayingNoise {
  if (spans.length === 1 && spans[0].thing) return spans[0].thing;
  let scratch: Float64Array[] = [];

  /** Plays samples [from, to) of one span into the block or, where it is not heard, into nothing. */
  function play(
    span: Span<PlayingNoise | null>,
    channelsUv: readonly Float64Array[],
    start: number,
    from: number,
    to: number,
  ) {
    if (!span.thing || to <= from) return;
    const heard = from >= span.from && to <= span.to;
    if (heard) {
      span.thing.addUv(
        channelsUv.map((channel) => channel.subarray(from - start)),
        from,
        to - from,
      );
    } else if (from < span.to) {
      if (!(scratch[0]?.length >= to - from)) scratch = channelsUv.map(() => new Float64Array(to - from));
      span.thing.addUv(scratch, from, to - from);
    }
  }

  return {
    present(presentation) {
      for (const { thing } of spans) thing?.present?.(presentation);
    },
    addUv(channelsUv, start, count) {
      const end = start + count;
      for (const span of spans) {
        const heardFrom = Math.min(end, Math.max(start, span.from));
        const heardTo = Math.min(end, Math.max(heardFrom, span.to));
        play(span, channelsUv, start, start, heardFrom);
        play(span, channelsUv, start, heardFrom, heardTo);
      }
    },
  };
}

/** Mixes the channels as the leads of the time are plugged in; null if they are right throughout. */
export function stagedMixing(
  spans: readonly Span<LeadMixing | null>[],
): ((channelsUv: readonly Float64Array[], start: number, count: number) => void) | null {
  if (spans.every(({ thing }) => thing === null)) return null;
  return ([signal0, signal1], start, count) => {
    for (const { thing, from, to } of spans) {
      const first = Math.max(0, from - start);
      const last = Math.min(count, to - start);
      if (last > first) thing?.mix(signal0, signal1, first, last);
    }
  };
}

/**
 * Carries signals through the chain of each stage; what comes out is that of the stage which holds at the time.
 *
 * Where one chain waits longer than the others, all do.
 */
export function stagedChain(spans: readonly Span<Chain>[]): Chain {
  if (spans.length === 1) return spans[0].thing;
  const delay = Math.max(...spans.map(({ thing }) => thing.delaySampleCount));
  const linesFor = () => spans.map(({ thing }) => [0, 1].map(() => delayLine(delay - thing.delaySampleCount)));
  const recordedLines = linesFor();
  const truthLines = linesFor();
  let truthStart = 0;

  /** Runs every chain on a copy and takes from each the samples of its span. */
  function through(
    channelsUv: readonly Float64Array[],
    start: number,
    count: number,
    lines: readonly DelayLine[][],
    run: (chain: Chain, copy: Float64Array[]) => void,
  ) {
    const outputs = spans.map(({ thing }, k) => {
      const copy = channelsUv.map((channel) => channel.slice(0, count));
      run(thing, copy);
      for (const [c, line] of lines[k].entries()) line.run(copy[c], count);
      return copy;
    });
    for (const [k, { from, to }] of spans.entries()) {
      const first = k === 0 ? 0 : Math.max(0, from + delay - start);
      const last = Math.min(count, to + delay - start);
      if (last <= first) continue;
      for (const [c, channel] of channelsUv.entries()) channel.set(outputs[k][c].subarray(first, last), first);
    }
  }

  return {
    delaySampleCount: delay,
    recordUv: (channelsUv, start, count) =>
      through(channelsUv, start, count, recordedLines, (chain, copy) => chain.recordUv(copy, start, count)),
    truthUv(channelsUv, count) {
      through(channelsUv, truthStart, count, truthLines, (chain, copy) => chain.truthUv(copy, count));
      truthStart += count;
    },
    flagged: (channel, from, to) =>
      spans.some((span) => span.from < to && span.to > from && span.thing.flagged(channel, from, to)),
    forgetBefore(sample) {
      for (const { thing } of spans) thing.forgetBefore(sample);
    },
  };
}

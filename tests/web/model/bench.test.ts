import { describe, expect, it } from 'vitest';
import { finalShares } from '../../../src/core/averaging/finalShares.ts';
import { preset } from '../../../src/core/scenario/presets.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { Bench, type BenchChange } from '../../../src/web/model/bench.ts';
import type { BenchEngine } from '../../../src/web/model/benchEngine.ts';
import { RunRecord } from '../../../src/web/model/runRecord.ts';
import { benchLink, type LinkedScenario, readScenarioLink } from '../../../src/web/model/scenarioLink.ts';
import type { BenchReply, BenchRequest } from '../../../src/web/worker/protocol.ts';
import { sweepBatcher } from '../../../src/web/worker/sweepBatcher.ts';

/** An engine that runs nothing: it keeps what it was asked and says what the test wants. */
function silentEngine() {
  const requests: BenchRequest[] = [];
  let listener: (reply: BenchReply) => void = () => {};
  const engine: BenchEngine = {
    send: (request) => requests.push(request),
    listen: (next) => {
      listener = next;
    },
    close: () => {},
  };
  return { engine, requests, say: (reply: BenchReply) => listener(reply) };
}

const short = { ...preset('quiet-sleeper'), session: { durationS: 2 } };

describe('Bench', () => {
  it('restarts the same patient when a setting changes', () => {
    const { engine, requests } = silentEngine();
    const bench = new Bench(engine, short, '5');
    bench.restart();
    bench.set('stimulus.ratePerS', 31);
    const starts = requests.filter((request) => request.kind === 'start');
    expect(starts.map(({ run, seed, scenario }) => [run, seed, scenario.stimulus.ratePerS])).toEqual([
      [1, '5', 27.7],
      [2, '5', 31],
    ]);
  });

  it('keeps the last good scenario when a setting is refused, and says why', () => {
    const { engine, requests } = silentEngine();
    const bench = new Bench(engine, short, '5');
    bench.restart();
    bench.set('stimulus.ratePerS', 80);
    expect(bench.problem).toContain('window.postMs: must fit the interval at 80/s');
    expect(bench.valueAt('stimulus.ratePerS')).toBe(80);
    expect(bench.scenario.stimulus.ratePerS).toBe(27.7);
    expect(requests.filter((request) => request.kind === 'start')).toHaveLength(1);
    bench.set('stimulus.ratePerS', 30);
    expect(bench.problem).toBeNull();
  });

  it('lets nothing through from a run that has been replaced', () => {
    const { engine, say } = silentEngine();
    const bench = new Bench(engine, short, '5');
    bench.restart();
    const old = sweepBatcher(1, bench.scenario, '5');
    old.addSweep();
    bench.restart();
    say(old.take());
    expect(bench.record.offeredCount).toBe(0);
    say({ kind: 'failed', run: 1, message: 'too late' });
    expect(bench.state).toBe('running');
  });

  it('tells listeners what has changed, until they leave', () => {
    const { engine, say } = silentEngine();
    const bench = new Bench(engine, short, '5');
    const heard: BenchChange[] = [];
    const leave = bench.subscribe((change) => heard.push(change));
    bench.restart();
    const batcher = sweepBatcher(1, bench.scenario, '5');
    while (batcher.addSweep());
    say(batcher.take());
    bench.selectSweep(1e9);
    expect(bench.selectedSweep).toBe(bench.record.sweepCount - 1);
    leave();
    bench.sealTruth(true);
    expect(heard).toEqual(['run', 'run', 'data', 'view']);
    expect(bench.state).toBe('finished');
  });
});

/** An engine that runs at once whatever is started, as far as the replay, or to the end if it is to run on. */
function promptEngine() {
  let listener: (reply: BenchReply) => void = () => {};
  const engine: BenchEngine = {
    send(request) {
      if (request.kind !== 'start') return;
      const { run, scenario, seed, lanes, replaySweeps } = request;
      const batcher = sweepBatcher(run, scenario, seed, lanes);
      for (let k = 0; k < Math.max(40, replaySweeps); k++) batcher.addSweep();
      listener(batcher.take());
    },
    listen: (next) => {
      listener = next;
    },
    close: () => {},
  };
  return engine;
}

/** All that a record keeps of its first sweeps, for comparing bit by bit. */
function firstSweeps(record: RunRecord, count: number): Float32Array[] {
  return Array.from({ length: count }, (_, k) => Float32Array.from(record.rawSweep(k, 0) ?? []));
}

describe('a link', () => {
  it('takes the bench up where it stood: sweeps, view, sweep looked at, marks committed on the average of then', () => {
    const opened = (linked: LinkedScenario) => {
      const bench = new Bench(promptEngine(), linked.document, linked.seed);
      bench.sealTruth(linked.sealed);
      bench.restore(linked.place);
      return bench;
    };
    const settings =
      'scenario=quiet-sleeper&seed=5&set=session.durationS=2&set=events=[{"atS":1,"action":"mute-the-sound"}]';
    const bench = opened(readScenarioLink(`${settings}&sealed=1&sweeps=45`));
    bench.desk.choose({ lane: 1 });
    bench.desk.putAll({ V: 5.6, III: 3.7 });
    bench.desk.commit();
    const text = benchLink(bench);
    const later = opened(readScenarioLink(text.replace('sweeps=45', 'sweeps=50')));
    later.showView('read');
    later.selectSweep(12);

    const link = benchLink(later);
    const again = opened(readScenarioLink(link));
    expect(again.record.offeredCount).toBe(50);
    expect(again.state).toBe('paused');
    expect(again.view).toBe('read');
    expect(again.selectedSweep).toBe(12);
    expect(again.truthSealed).toBe(false);
    expect(again.scenario).toEqual(bench.scenario);
    expect(firstSweeps(again.record, 45)).toEqual(firstSweeps(bench.record, 45));
    expect(again.desk.committed).toEqual(bench.desk.committed);
    expect(again.desk.committed?.sealed).toBe(true);
    expect(again.record.lanes[0].averageUv).not.toEqual(bench.record.lanes[0].averageUv); // five sweeps more
    expect(benchLink(again)).toBe(link);
  });
});

describe('hands on and lanes', () => {
  it('replays to the same sweep with an event added: identical before it, changed after it', () => {
    const bench = new Bench(promptEngine(), { ...preset('quiet-sleeper'), session: { durationS: 4 } }, '5');
    bench.restart();
    const before = bench.record;
    expect(before.offeredCount).toBe(40);
    bench.act('clench');
    expect(bench.problem).toBeNull();
    expect(bench.record).not.toBe(before);
    expect(bench.record.offeredCount).toBe(40);
    expect(firstSweeps(bench.record, 40)).toEqual(firstSweeps(before, 40));
    const [event] = bench.scenario.events;
    expect(event.action).toBe('clench');
    expect(event.atS).toBeGreaterThanOrEqual(before.seconds);

    const quiet = sweepBatcher(1, resolveScenario({ ...preset('quiet-sleeper'), session: { durationS: 4 } }), '5');
    const clenched = sweepBatcher(1, bench.scenario, '5');
    for (const batcher of [quiet, clenched]) for (let k = 0; k < 60; k++) batcher.addSweep();
    const meanSquare = (samples: Float32Array) => samples.reduce((sum, value) => sum + value * value, 0);
    const [a, b] = [quiet.take(), clenched.take()].map(({ recordedUv }) => recordedUv.slice(recordedUv.length / 2));
    expect(meanSquare(b)).toBeGreaterThan(4 * meanSquare(a)); // sweeps 30 … 59: two thirds of them under a 60 µV clench
  });

  it('refuses what makes no sense, keeps the run and says why', () => {
    const bench = new Bench(promptEngine(), short, '5');
    bench.restart();
    const { record } = bench;
    bench.act('feed-the-child');
    expect(bench.problem).toContain('needs child.present true');
    expect(bench.record).toBe(record);
    expect(bench.scenario.events).toEqual([]);
    bench.act('swallow');
    expect(bench.problem).toBeNull();
    expect(bench.scenario.events).toHaveLength(1);
    bench.setEvents([]);
    expect(bench.scenario.events).toEqual([]);
  });

  it('runs the same sweeps past other lanes, and goes on where it stood', () => {
    const bench = new Bench(promptEngine(), short, '5');
    bench.restart();
    const before = firstSweeps(bench.record, 40);
    bench.addLane('block-weighting');
    expect(bench.lanes[4].parameters).toMatchObject({ blockLength: 32 });
    bench.setTunable(4, 'blockLength', 8);
    expect(bench.record.offeredCount).toBe(40);
    expect(firstSweeps(bench.record, 40)).toEqual(before);
    expect(bench.record.lanes.map(({ strategy }) => strategy)).toEqual([
      ...['plain-mean', 'threshold-rejection', 'block-weighting', 'kalman'],
      'block-weighting',
    ]);
    expect(bench.record.lanes[4].decidedCount).toBe(40);
    expect(bench.record.lanes[2].decidedCount).toBe(32);
    bench.addLane('kalman');
    bench.addLane('plain-mean');
    expect(bench.problem).toBe('lanes: must be at most 6 on the page, got 7');
    expect(bench.record.lanes).toHaveLength(6);
    bench.removeLane(0);
    expect(bench.problem).toBeNull();
    expect(bench.record.lanes).toHaveLength(5);
    bench.setTunable(3, 'blockLength', 0);
    expect(bench.problem).toContain('blockLength: must be a whole number from 2 to 4096 sweeps, got 0');
  });
});

describe('RunRecord', () => {
  const cases = [
    // Q µV², why
    [1e-8, 'the usual setting: hardly any fading'],
    [1e-2, 'half of the past is gone after some dozen sweeps'],
    [1, 'fades fast enough to leave the range of doubles: shares are rescaled on the way'],
  ] as const;
  it.each(cases)('gives the shares of core for a strategy that forgets with Q = %d µV² (%s)', (processNoiseUv2) => {
    const scenario = resolveScenario({ session: { durationS: 60 }, averaging: { kalman: { processNoiseUv2 } } });
    const batcher = sweepBatcher(1, scenario, '9');
    const record = new RunRecord(scenario);
    while (batcher.addSweep()) if (batcher.pendingCount() === 100) record.add(batcher.take());
    record.add(batcher.take());
    const lane = record.lanes.findIndex(({ strategy }) => strategy === 'kalman');
    const decisions = Array.from({ length: record.sweepCount }, (_, index) => record.verdict(lane, index));
    const expected = finalShares(decisions, record.sweepCount);
    for (let k = 0; k < record.sweepCount; k++) {
      const share = record.normalisedWeight(lane, k) / record.lanes[lane].decidedCount;
      expect(Math.abs(share - expected[k])).toBeLessThan(1e-12); // rounding of about 2000 products
    }
  });
});

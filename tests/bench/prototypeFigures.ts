/**
 * Measures again what a first throw-away prototype of this model gave, and prints a table for MODEL.md.
 *
 * `npx tsx tests/bench/prototypeFigures.ts [WORD]`; with a word, only the rows whose name holds it. Takes some minutes.
 * A figure is the root mean square over seeds of the residual noise, nV, with its standard error. The prototype's own
 * scatter is not known beyond 20 % for one run; over its 4 to 30 seeds it is taken as 7 %. "differs" means that the two
 * are more than two of these standard errors apart. A benchmark, never a test.
 */
import { averagingStrategies } from '../../src/core/averaging/index.ts';
import { amplitudeGain } from '../../src/core/quality/amplitudeGain.ts';
import { residualNoiseUv } from '../../src/core/quality/residualNoise.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { laneField } from '../../src/core/session/laneField.ts';
import { type LaneSetting, openLane } from '../../src/core/session/lanes.ts';
import { runningTruth } from '../../src/core/session/runningTruth.ts';
import { averagingContext, startSession, sweepMeta } from '../../src/core/session/session.ts';

const PROTOTYPE_SCATTER = 0.07;
const only = process.argv[2] ?? '';

// The prototype's adult: 1.75 µV of noise a sweep at 100–1500 Hz, no swell, click at 75 dB nHL, window 0–15 ms.
const ADULT = {
  stimulus: { ratePerS: 27.7 },
  eeg: { slowUv: 5.9, gainLogSd: 0 },
  drift: { walkUvPerRtS: 0 },
  mains: { fundamentalUv: 0 },
  amplifier: { rangeUv: 100000 },
  converter: { bits: 24 },
  window: { preMs: 5, postMs: 15, analysisFromMs: 1, analysisToMs: 12 },
};
const BURSTS = { muscle: { burstsPerS: 0.25, durationS: 0.8, durationLogSd: 0.6, burstUv: 25, burstLogSd: 0.6 } };

const P: LaneSetting = { strategy: 'plain-mean', parameters: {} };
const R = (thresholdUv: number): LaneSetting => ({
  strategy: 'threshold-rejection',
  parameters: { thresholdUv, skipMs: 0 },
});
const B = (blockLength: number): LaneSetting => ({
  strategy: 'block-weighting',
  parameters: { blockLength, varianceFloorUv2: 1e-9, independentPoints: 11 }, // a flat block would weigh infinitely
});
const K = (processNoiseUv2: number): LaneSetting => ({
  strategy: 'kalman',
  parameters: { processNoiseUv2, noiseMemory: 0.3, noiseFloorUv2: 0.01, knownNoiseUv2: 0 },
});
/** One of the further strategies, with its defaults and some keys. */
const other = (strategy: string, keys: Record<string, number> = {}): LaneSetting | null => {
  const found = averagingStrategies.find(({ id }) => id === strategy);
  if (!found) return null;
  const defaults = Object.entries(found.parameters.properties as Record<string, { default: number }>);
  return {
    strategy,
    parameters: { ...Object.fromEntries(defaults.map(([key, entry]) => [key, entry.default])), ...keys },
  };
};
const A = other('adaptive-rejection', { ceilingUv: 100000 });
const S0 = other('self-weighting');
const S1 = other('template-weighting');
const M = other('median-average');
const T = other('trimmed-mean');
const H = other('huber-average');
const SO = other('sorted-averaging');
const E = other('muscle-normalised');
const PRE = other('prestimulus-weighting');

const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
const deviation = (values: number[]) => Math.sqrt(mean(values.map((value) => (value - mean(values)) ** 2)));
const rootMean = (values: number[]) => Math.sqrt(mean(values.map((value) => value * value)));

interface Figures {
  /** Root mean square over seeds, nV, and its standard error relative to it. */
  noiseNv: number;
  error: number;
  gain: number;
  gainError: number;
  used: number;
}

/** Runs lanes on the same sweeps, over seeds: the figures at the end. */
function figures(document: object, seconds: number, lanes: LaneSetting[], seeds: number): Figures[] {
  const scenario = resolveScenario(merged(ADULT, document, { session: { durationS: seconds } }));
  const context = averagingContext(scenario);
  const { analysisFrom, analysisTo } = context;
  const noisesNv = lanes.map(() => [] as number[]);
  const gains = lanes.map(() => [] as number[]);
  const used = lanes.map(() => [] as number[]);
  for (let k = 0; k < seeds; k++) {
    const field = laneField(lanes, context);
    const truth = runningTruth(context.samplesPerSweep);
    const session = startSession(scenario, `prototype/${k}`);
    for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
      field.add(sweep.recordedUv[0], sweepMeta(sweep, 0, field));
      truth.add(sweep.truthUv[0]);
    }
    const truthUv = new Float64Array(context.samplesPerSweep);
    const estimateUv = new Float64Array(context.samplesPerSweep);
    truth.read(truthUv);
    for (const [lane, { averager }] of field.finish().entries()) {
      averager.read(estimateUv);
      noisesNv[lane].push(1000 * residualNoiseUv(estimateUv, truthUv, analysisFrom, analysisTo));
      gains[lane].push(amplitudeGain(estimateUv, truthUv, analysisFrom, analysisTo));
      used[lane].push(averager.usedCount() / session.sweepCount);
    }
  }
  return lanes.map((_, lane) => {
    const noiseNv = rootMean(noisesNv[lane]);
    const squares = noisesNv[lane].map((value) => value * value);
    return {
      noiseNv,
      error: deviation(squares) / mean(squares) / 2 / Math.sqrt(seeds),
      gain: mean(gains[lane]),
      gainError: deviation(gains[lane]) / Math.sqrt(seeds),
      used: mean(used[lane]),
    };
  });
}

function merged(...documents: object[]): object {
  const all: Record<string, object> = {};
  for (const document of documents) {
    for (const [key, keys] of Object.entries(document)) {
      all[key] = typeof keys === 'object' && !Array.isArray(keys) ? { ...all[key], ...keys } : keys;
    }
  }
  return all;
}

function row(name: string, prototype: string, here: string, differs: boolean): void {
  console.log(`| ${name} | ${prototype} | ${here} | ${differs ? '**yes**' : 'no'} |`);
}

/** A lane, and what the prototype gave for it: nV, and the gain where it told one. */
type Claim = readonly [name: string, lane: LaneSetting | null, noiseNv: number, gain?: number];

/** One row for each lane: noise, gain, share of sweeps used. */
function claims(
  title: string,
  document: object,
  seconds: number,
  list: readonly Claim[],
  seeds = 8,
  scatter = PROTOTYPE_SCATTER,
): void {
  if (!title.includes(only)) return;
  const known = list.filter(([, lane]) => lane !== null);
  const all = figures(
    document,
    seconds,
    known.map(([, lane]) => lane as LaneSetting),
    seeds,
  );
  for (const [k, [name, , prototypeNv, prototypeGain]] of known.entries()) {
    const { noiseNv, error, gain, gainError, used } = all[k];
    const noiseApart = Number.isNaN(prototypeNv)
      ? 0
      : Math.abs(Math.log(noiseNv / prototypeNv)) / Math.hypot(error, scatter);
    // 0.02 stands for the prototype's scatter of gains.
    const gainApart = prototypeGain === undefined ? 0 : Math.abs(gain - prototypeGain) / Math.hypot(gainError, 0.02);
    const there = [
      ...(Number.isNaN(prototypeNv) ? [] : [`${prototypeNv} nV`]),
      ...(prototypeGain === undefined ? [] : [`gain ${prototypeGain.toFixed(2)}`]),
    ];
    const here = `${noiseNv.toFixed(0)} ± ${(error * noiseNv).toFixed(0)} nV, gain ${gain.toFixed(2)} ± ${gainError.toFixed(2)}, ${(100 * used).toFixed(0)} % used`;
    const isNumber = Number.isFinite(noiseNv);
    row(
      `${title}: ${name}`,
      there.join(', '),
      isNumber ? here : 'no number: a flat sweep weighs infinitely',
      !(noiseApart <= 2 && gainApart <= 2),
    );
  }
}

/** The plain mean of one run: true error, half the difference of the split buffers, own claim, nV. */
function plainRun(document: object, seconds: number, seed: string): { trueNv: number; halfNv: number; ownNv: number } {
  const scenario = resolveScenario(merged(ADULT, document, { session: { durationS: seconds } }));
  const context = averagingContext(scenario);
  const { averager } = openLane(P, context);
  const session = startSession(scenario, seed);
  const truth = runningTruth(context.samplesPerSweep);
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    const { index, timeS, polarity, overRange } = sweep;
    averager.add(sweep.recordedUv[0], { index, timeS, polarity, overRange: overRange[0] });
    truth.add(sweep.truthUv[0]);
  }
  const [estimateUv, truthUv, aUv, bUv] = [0, 1, 2, 3].map(() => new Float64Array(context.samplesPerSweep));
  averager.read(estimateUv);
  averager.readPair(aUv, bUv);
  truth.read(truthUv);
  const rmsNv = (at: (i: number) => number) => {
    let sum = 0;
    for (let i = context.analysisFrom; i < context.analysisTo; i++) sum += at(i) ** 2;
    return 1000 * Math.sqrt(sum / (context.analysisTo - context.analysisFrom));
  };
  return {
    trueNv: rmsNv((i) => estimateUv[i] - truthUv[i]),
    halfNv: rmsNv((i) => (aUv[i] - bUv[i]) / 2),
    ownNv: 1000 * averager.ownNoiseUv(),
  };
}

console.log('| figure | prototype | here | differs |\n|---|---|---|---|');

if ('spread'.includes(only)) {
  const runs = Array.from({ length: 30 }, (_, k) => plainRun({}, 2000 / 27.7, `spread/${k}`));
  const [own, half, error] = (['ownNv', 'halfNv', 'trueNv'] as const).map((key) => runs.map((run) => run[key]));
  const text = (values: number[], digits: number) =>
    `${mean(values).toFixed(1)} ± ${deviation(values).toFixed(digits)}`;
  row('spread of true noise, 2000 sweeps', '38.4 ± 7.6 nV', `${text(error, 1)} nV`, Math.abs(mean(error) - 38.4) > 4);
  row('… plus-minus', '39.3 ± 7.1 nV', `${text(half, 1)} nV`, Math.abs(mean(half) - 39.3) > 4);
  row('… sweep variance', '39.4 ± 0.4 nV', `${text(own, 1)} nV`, Math.abs(mean(own) - 39.4) > 2);
}

claims(
  'bursts 120 s',
  BURSTS,
  120,
  [
    ['±3 µV (3 % used there)', R(3), 171, 0.48],
    ['±4 µV (29 %)', R(4), 62, 0.73],
    ['±5 µV (64 %)', R(5), 37, 0.89],
    ['±6 µV (79 %)', R(6), 30, 0.96],
    ['±8 µV (83 %)', R(8), 30, 1],
    ['±10 µV (84 %)', R(10), 30],
    ['±15 µV (85 %)', R(15), 33],
    ['±20 µV (87 %)', R(20), 36],
    ['±30 µV (89 %)', R(30), 51],
    ['±50 µV (93 %)', R(50), 81],
    ['±100 µV (98 %)', R(100), 167, 0.92],
    ['blocks of 8', B(8), 35],
    ['blocks of 16', B(16), 38],
    ['blocks of 32', B(32), 42],
    ['blocks of 64', B(64), 47],
    ['blocks of 128', B(128), 60],
    ['blocks of 256', B(256), 95],
    ['blocks of 512', B(512), 166],
  ],
  12,
);
claims(
  'one burst run 240 s',
  BURSTS,
  240,
  [
    ['P', P, 142],
    ['R20', R(20), 19],
    ['A', A, 19],
    ['B100', B(100), 40],
    ['S0', S0, 34, 0.85],
    ['S1', S1, 21],
    ['K', K(0), 18],
    ['M', M, 29],
    ['T', T, 25],
    ['H', H, 24],
    ['SO', SO, 17.5],
  ],
  6,
  0.2,
);
const child = (
  quietS: number,
  restlessS: number,
  movingS: number,
  quietUv: number,
  restlessUv: number,
  movingUv: number,
) => ({
  child: {
    present: true,
    quiet: { dwellS: quietS, muscleUv: quietUv },
    restless: { dwellS: restlessS, muscleUv: restlessUv },
    moving: { dwellS: movingS, muscleUv: movingUv },
  },
  stimulus: { ratePerS: 39.1 },
});
claims(
  'calm child 240 s',
  child(25, 8, 3, 1, 10, 60),
  240,
  [
    ['P', P, 168],
    ['R5', R(5), 37],
    ['R8', R(8), 24],
    ['R12', R(12), 26],
    ['R20', R(20), 39],
    ['R40', R(40), 46],
    ['A', A, 148],
    ['B25', B(25), 24],
    ['S1', S1, 25],
    ['K', K(0), 25],
    ['S0', S0, 30, 0.86],
    ['M', M, 32],
    ['T', T, 35],
    ['H', H, 32],
    ['SO', SO, 27],
  ],
  12,
);
claims(
  'restless child 240 s',
  child(10, 14, 4, 3, 9, 40),
  240,
  [
    ['P', P, 103],
    ['R8', R(8), 82],
    ['R12', R(12), 74],
    ['R20', R(20), 67],
    ['R40', R(40), 75],
    ['A', A, 89],
    ['B25', B(25), 57],
    ['S1', S1, 62],
    ['K', K(0), 61],
    ['S0', S0, 58, 0.76],
    ['M', M, 76],
    ['H', H, 73],
    ['SO', SO, 64],
  ],
  12,
);
// A slow response of 6 µV in 2.5 µV of noise.
claims(
  '6 µV response in 2.5 µV',
  { response: { amplitudeScale: 14 }, eeg: { slowUv: 8.6, gainLogSd: 0 } },
  72,
  [
    ['±8 µV (36 % used there)', R(8), NaN, 0.87],
    ['±10 µV (82 %)', R(10), NaN, 0.96],
    ['±6 µV (3 %)', R(6), NaN, 0.69],
  ],
  8,
);

const line = (ratePerS: number, wanderHz: number) => ({
  stimulus: { ratePerS },
  mains: { fundamentalUv: 4, harmonicRatios: [1, 0.15, 0.4, 0, 0.2, 0, 0.075], wanderHz },
});
for (const [rate, wander, noiseNv, halfNv] of [
  [25, 0, 1291, 30],
  [25, 0.02, 394, 31],
  [25, 0.1, 236, 30],
  [20, 0, 314, 1373],
  [20, 0.02, 117, 435],
  [20, 0.1, 50, 246],
  [27.7, 0, 31, NaN],
  [27.7, 0.02, 31, NaN],
  [27.7, 0.1, 34, NaN],
  [33.3, 0, 32, 29],
  [33.3, 0.02, 37, 66],
  [33.3, 0.1, 69, 203],
  [37.7, 0, 31, NaN],
  [37.7, 0.02, 31, NaN],
  [37.7, 0.1, 73, NaN],
]) {
  const name = `mains at ${rate}/s, wander ${wander} Hz: plain mean`;
  if (!name.includes(only)) continue;
  const runs = Array.from({ length: 16 }, (_, k) => plainRun(line(rate, wander), 100, `mains/${k}`));
  const noises = runs.map(({ trueNv }) => trueNv);
  const here = rootMean(noises);
  const error = deviation(noises) / here / 4;
  const locked = wander === 0 ? PROTOTYPE_SCATTER : 0.25; // one drawn path of the frequency decides: four seeds there
  const differs = Math.abs(Math.log(here / noiseNv)) > 2 * Math.hypot(error, locked);
  const half = Number.isNaN(halfNv) ? '' : ` (${halfNv})`;
  row(
    name,
    `${noiseNv}${half} nV`,
    `${here.toFixed(0)} ± ${(error * here).toFixed(0)} (${rootMean(runs.map((run) => run.halfNv)).toFixed(0)}) nV`,
    differs,
  );
}
for (const [jitterMs, noiseNv] of [
  [0, 1301],
  [1, 1119],
  [2, 801],
  [5, 443],
  [10, 44],
  [19.9, 44],
]) {
  const document = merged(line(25, 0), { stimulus: { ratePerS: 25, jitterMs } });
  claims(`mains at 25/s, jitter ±${jitterMs} ms`, document, 100, [['P', P, noiseNv]], 12);
}

// Steps of a loose lead pin the stage for about 1.2 s, flat after the high-pass: a twentieth of the sweeps.
const pinned = (respectFlags: boolean) => ({
  drift: { walkUvPerRtS: 0, stepsPerS: 0.04, stepUv: 600, stepRecoveryS: 0.5 },
  amplifier: { rangeUv: 50, couplingHz: 0.05, recoveryMs: 1, blockingMs: 0 },
  converter: { bits: 24, guardMs: 10 },
  averaging: { respectFlags },
});
claims(
  'pinned flat sweeps 120 s',
  pinned(false),
  120,
  [
    ['P', P, 27, 0.96],
    ['R20', R(20), 27, 0.96],
    ['H', H, 29, 0.95],
    ['B64', B(64), 69, 0.77],
    ['S1', S1, 64, 0.61],
    ['M', M, 75, 0.58],
    ['K', K(0), 115, 0.26],
    ['B16', B(16), 154, 0],
    ['S0', S0, 155, 0],
    ['SO', SO, 155, 0],
  ],
  8,
);
claims('pinned flat sweeps 120 s, flagged', pinned(true), 120, [['B16', B(16), 28, 1.01]], 8);

const clipped = (rangeUv: number) =>
  merged(BURSTS, {
    amplifier: { rangeUv, recoveryMs: 150 },
    converter: { bits: 24, guardMs: 450 },
    averaging: { respectFlags: false },
  });
claims(
  'clipping at ±50 µV, 60 s',
  clipped(50),
  60,
  [
    ['P', P, 230],
    ['R20', R(20), 66],
    ['R45', R(45), 68],
    ['B16', B(16), 69],
  ],
  12,
);
claims('clipping at ±1000 µV, 60 s', clipped(1000), 60, [['P', P, 613]], 12);

// Here without the prototype's adult: the session of a cVEMP.
for (const [logSd, fatiguePerMin, block, before] of [
  [0.15, 0, 0.99, 0.97],
  [0.3, 0, 0.93, 0.9],
  [0.5, 0, 0.86, 0.78],
  [0.3, 0.5, 0.86, 0.82],
]) {
  const vemp = resolveScenario({ response: { kind: 'cvemp' }, contraction: { logSd, fatiguePerMin, memoryS: 5 } });
  claims(
    `cVEMP, log-SD ${logSd}${fatiguePerMin > 0 ? ' and fatigue' : ''}`,
    vemp,
    40,
    [
      ['blocks of 25', B(25), NaN, block],
      ['pre-stimulus weights', PRE, NaN, before],
      ['normalised', E, NaN, 1.02],
    ],
    24,
  );
}

if ('moving'.includes(only)) {
  const moving = {
    session: { durationS: 300 },
    response: { trajectory: { startS: 100, endS: 200, latencyShiftMs: 1.2, amplitudeFactor: 1 } },
  };
  const lanes: [string, LaneSetting | null, number, number][] = [
    ['P', P, 111, 90],
    ['K Q = 1e-7', K(1e-7), 104, 74],
    ['K Q = 6.4e-7', K(6.4e-7), 80, 37],
    ['K Q = 2e-6', K(2e-6), 64, 27],
    ['K Q = 1e-5', K(1e-5), 62, 44],
    ['forgetting, 2000', other('forgetting-average', { memorySweeps: 2000 }), 65, NaN],
  ];
  for (const [name, setting, track, end] of lanes) {
    if (!setting) continue;
    const errors = Array.from({ length: 8 }, (_, k) => tracking(moving, setting, `moving/${k}`));
    const [trackHere, endHere] = [rootMean(errors.map(([value]) => value)), rootMean(errors.map(([, value]) => value))];
    const near = (here: number, there: number) =>
      Number.isNaN(there) || Math.abs(Math.log(here / there)) < 2 * Math.hypot(0.07, 0.07);
    row(
      `moving by 1.2 ms: ${name}, error after 150 s / at the end`,
      `${track}/${Number.isNaN(end) ? '–' : end} nV`,
      `${trackHere.toFixed(0)}/${endHere.toFixed(0)} nV`,
      !(near(trackHere, track) && near(endHere, end)),
    );
  }
}

/** Error against the response of the moment: from 150 s on, and at the end, nV. */
function tracking(document: object, setting: LaneSetting, seed: string): [number, number] {
  const scenario = resolveScenario(merged(ADULT, document));
  const context = averagingContext(scenario);
  const { averager } = openLane(setting, context);
  const session = startSession(scenario, seed);
  const estimateUv = new Float64Array(context.samplesPerSweep);
  const squares: number[] = [];
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    const { index, timeS, polarity, overRange } = sweep;
    averager.add(sweep.recordedUv[0], { index, timeS, polarity, overRange: overRange[0] });
    if (timeS < 150 || index % 100 !== 0) continue;
    averager.read(estimateUv);
    let sum = 0;
    for (let i = context.analysisFrom; i < context.analysisTo; i++) sum += (estimateUv[i] - sweep.truthUv[0][i]) ** 2;
    squares.push((1e6 * sum) / (context.analysisTo - context.analysisFrom));
  }
  return [Math.sqrt(mean(squares)), Math.sqrt(squares[squares.length - 1])];
}

import { exp, PI } from '../elementary.ts';
import { nextExponential, nextGaussian, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { contractionLevel } from './contraction.ts';
import type { EvokedResponse, ResponseKind } from './responseKind.ts';
import { tabulate } from './templateResponse.ts';
import { trajectory } from './trajectory.ts';
import { vestibularDriveDb, vestibularRateFactor, yearsAfter50 } from './vestibularDrive.ts';

/** Cervical vestibular evoked myogenic potential: the sound silences a tense neck muscle for a few milliseconds. */
export const cervicalVemp: ResponseKind = { id: 'cvemp', label: 'cVEMP', create: createCervicalVemp };

// Convolution model of the response [LU15]; the constants are model values.
const UNIT_MS = 2.5; // ms: h(t) = (t/2.5)·e^(−t²/2·2.5²), the potential of one motor unit
const UNIT_REACH_MS = 10; // ms: |h| < 0.0014 beyond
const DIP = { latencyMs: 18, widthMs: 4.3, share: -1 };
const REBOUND = { latencyMs: 39, widthMs: 5, share: 0.2 }; // 0.12 of the firing for a modulation of 0.6
const DEEPEST = 0.95; // of the firing: it never stops altogether
const CROSSED = 0.05; // ×, model value: what each side's electrode sees of the other side's muscle
const POINTS_PER_SAMPLE = 16;
const END_MS = 75; // the rebound is over, and the potentials that it started

/**
 * Share of the firing by which a stimulus lowers it: 0 for no response, at most 0.75, with a third window 0.95.
 *
 *     m = [0.75·(drive/20 dB, 0 … 1) − 0.006 a year after 50] · strength · e^(−(r − 5)/12)
 *
 * A third window drives the organ beyond what the middle ear can: there the growth goes on up to 0.95 of the firing (E33).
 * Model values. @example modulationDepth(resolveScenario({ response: { kind: 'cvemp' } })) // 0.558 at 97 dB nHL, 5.1/s
 */
export function modulationDepth(scenario: Scenario): number {
  const most = scenario.vestibular.thirdWindow ? DEEPEST / 0.75 : 1;
  const growth = Math.min(most, Math.max(0, vestibularDriveDb(scenario) / 20));
  const young = Math.max(0, 0.75 * growth - (growth > 0 ? 0.006 * yearsAfter50(scenario) : 0));
  return young * scenario.vestibular.strength * vestibularRateFactor(scenario.stimulus.ratePerS);
}

/**
 * Mean response of the muscle to a modulation of depth 1, per µV of unit potential and unit per ms.
 *
 *     k(t) = Σ share·(G(·; τ, s) * h)(t),   G a bell of height 1, h(t) = (t/σ)·e^(−t²/2σ²)
 *          = Σ share · σ·√(2π)·(s·σ/S)·((t − τ)/S²)·e^(−(t − τ)²/2S²),   S² = s² + σ²
 *
 * Positive first, because a gap in the firing takes away the negative beginning of potentials to come.
 */
export function meanResponse(timeMs: number): number {
  let sum = 0;
  for (const { latencyMs, widthMs, share } of [DIP, REBOUND]) {
    const square = widthMs * widthMs + UNIT_MS * UNIT_MS;
    const away = timeMs - latencyMs;
    sum +=
      (share * UNIT_MS * Math.sqrt(2 * PI) * widthMs * UNIT_MS * away * exp((-away * away) / (2 * square))) /
      (Math.sqrt(square) * square);
  }
  return sum;
}

/** Mean rectified activity of a muscle whose unit potentials have the size 1: √(2/π)·√(λ·∫h²), ∫h² = σ·√π/2. */
export function rectifiedPerUnit(unitsPerS: number): number {
  return Math.sqrt((2 / PI) * (unitsPerS / 1000) * UNIT_MS * Math.sqrt(PI) * 0.5);
}

interface Answer {
  sample: number; // of the stimulus
  shiftMs: number;
  depth: number;
}

/** One side of the neck: its contraction heard twice, once for the truth and once for the noise around it. */
interface Side {
  levelForTruth: ReturnType<typeof contractionLevel>;
  levelForNoise: ReturnType<typeof contractionLevel>;
  firing: Firing;
  unitUv: number;
}

/**
 * Plays the muscle of both sides of the neck.
 *
 *     x(t) = a(t)·Σ_j h(t − t_j),   t_j random at the rate λ(t) = λ₀·[1 − m·G(t; 18, 4.3) + 0.2·m·G(t; 39, 5)]
 *     truth: a(t)·λ₀·m·k(t);   own noise: x(t) − truth
 *
 * The response is not added to the activity, it is a change of its rate: its variance dips with it. Only the stimulated
 * side answers; the other is tense without being modulated. Each electrode sees 5 % of the other side. Latency jitter
 * and scatter are those of the scenario, common to all units, from 'response/scatter'; the firing draws from
 * 'muscle/firing' by time alone, so the same units are candidates whatever the stimulus does. The truth is exact
 * while the responses to two stimuli do not overlap (below about 25/s).
 */
function createCervicalVemp(scenario: Scenario, seed: string): EvokedResponse {
  const { amplitudeScale, latencyJitterMs, amplitudeLogSd } = scenario.response;
  const { meanRectifiedUv, otherSideGain, unitsPerS } = scenario.contraction;
  const { sampleRateHz } = scenario.converter;
  const draws = stream(seed, 'response/scatter');
  const displacement = trajectory(scenario);
  const personal = exp(0.35 * scenario.patient.scatter * nextGaussian(stream(seed, 'patient/neck')));
  const depth = modulationDepth(scenario) * amplitudeScale * personal;
  const ageMs = 0.04 * yearsAfter50(scenario); // within the interval of [MA17]; the figure is a model value
  const perSampleMs = 1000 / sampleRateHz;
  const stepMs = perSampleMs / POINTS_PER_SAMPLE;
  const kernel = tabulate(
    (sinceMs) => (unitsPerS / 1000) * meanResponse(sinceMs - UNIT_REACH_MS),
    END_MS + UNIT_REACH_MS,
    stepMs,
  ); // potentials begin before their firing, so the table begins before the stimulus
  const unit = tabulate((timeMs) => unitPotential(timeMs - UNIT_REACH_MS), 2 * UNIT_REACH_MS, stepMs);
  const sides: Side[] = ([0, 1] as const).map((side) => ({
    levelForTruth: contractionLevel(scenario, seed, side),
    levelForNoise: contractionLevel(scenario, seed, side),
    firing: randomFiring(scenario, seed, side, unit),
    unitUv: ((side === 0 ? 1 : otherSideGain) * meanRectifiedUv) / rectifiedPerUnit(unitsPerS),
  }));
  const answerSamples = Math.ceil((END_MS + 4 * UNIT_REACH_MS) / perSampleMs);
  let answers: Answer[] = [];
  let mean = new Float64Array(0);
  let level = new Float64Array(0);
  let muscle = new Float64Array(0);

  function makeRoom(count: number): void {
    if (mean.length >= count) return;
    mean = new Float64Array(count);
    level = new Float64Array(count);
    muscle = new Float64Array(count);
  }

  /** Mean change of the stimulated side by all answers, for unit potentials of size 1. */
  function fillMean(start: number, count: number): void {
    mean.fill(0, 0, count);
    for (const answer of answers) {
      const skip = (UNIT_REACH_MS - answer.shiftMs) / stepMs;
      const from = Math.max(start, answer.sample + Math.ceil(-skip / POINTS_PER_SAMPLE));
      const end = Math.min(start + count, answer.sample + Math.floor((kernel.length - 2 - skip) / POINTS_PER_SAMPLE));
      for (let i = from; i < end; i++) {
        const position = (i - answer.sample) * POINTS_PER_SAMPLE + skip;
        const point = Math.floor(position);
        mean[i - start] += answer.depth * (kernel[point] + (position - point) * (kernel[point + 1] - kernel[point]));
      }
    }
  }

  function addTo(channelsUv: readonly Float64Array[], side: number, unitUv: number, count: number): void {
    const own = channelsUv[side];
    const other = channelsUv[1 - side];
    for (let i = 0; i < count; i++) {
      const valueUv = unitUv * level[i] * muscle[i];
      own[i] += valueUv;
      other[i] += CROSSED * valueUv;
    }
  }

  return {
    present({ sample }) {
      const moved = displacement(sample);
      const shiftMs = latencyJitterMs * nextGaussian(draws) + moved.latencyMs + ageMs;
      const size = nextLogNormal(draws, 1, amplitudeLogSd) * moved.amplitudeFactor;
      answers.push({ sample, shiftMs, depth: Math.min(DEEPEST, depth * size) });
    },
    addUv(channelsUv, start, count) {
      makeRoom(count);
      if (answers.length > 0) answers = answers.filter(({ sample }) => sample + answerSamples > start);
      const { levelForTruth, unitUv } = sides[0];
      fillMean(start, count);
      muscle.set(mean.subarray(0, count));
      levelForTruth.fill(level, start, count);
      addTo(channelsUv, 0, unitUv, count);
    },
    addNoiseUv(channelsUv, start, count) {
      makeRoom(count);
      for (const [side, { levelForNoise, firing, unitUv }] of sides.entries()) {
        firing.fill(muscle, start, count, side === 0 ? answers : []);
        if (side === 0) {
          fillMean(start, count);
          for (let i = 0; i < count; i++) muscle[i] -= mean[i];
        }
        levelForNoise.fill(level, start, count);
        addTo(channelsUv, side, unitUv, count);
      }
    },
  };
}

function unitPotential(timeMs: number): number {
  const t = timeMs / UNIT_MS;
  return t * exp(-0.5 * t * t);
}

/** The random firing of one side. */
interface Firing {
  /** Writes the sum of unit potentials at samples [start, start + count) to `out[0 …)`. */
  fill(out: Float64Array, start: number, count: number, answers: readonly Answer[]): void;
}

/**
 * Makes the firing by thinning: candidates come at random at the highest rate that may be, and each is kept with the
 * probability λ(t)/highest. Two draws a candidate, in order of time.
 */
function randomFiring(scenario: Scenario, seed: string, side: number, unit: Float64Array): Firing {
  const { unitsPerS } = scenario.contraction;
  const { sampleRateHz } = scenario.converter;
  const draws = stream(seed, 'muscle/firing', side);
  const headroom = 1 + REBOUND.share;
  const samplesPerCandidate = sampleRateHz / (unitsPerS * headroom);
  const reach = Math.ceil((UNIT_REACH_MS * sampleRateHz) / 1000);
  const reachPoints = (unit.length - 1) / 2;
  let candidate = -reach + samplesPerCandidate * nextExponential(draws); // in samples, fractional
  let luck = nextUniform(draws);
  let times: number[] = []; // of firings that still sound

  return {
    fill(out, start, count, answers) {
      const end = start + count;
      for (; candidate < end + reach; candidate += samplesPerCandidate * nextExponential(draws)) {
        if (luck * headroom < firingShare(candidate, sampleRateHz, answers)) times.push(candidate);
        luck = nextUniform(draws);
      }
      out.fill(0, 0, count);
      for (const time of times) {
        const first = Math.max(start, Math.ceil(time - reach + 1));
        const last = Math.min(end, Math.floor(time + reach));
        // The grid of the table is 1/16 of a sample: a firing is moved by at most 1/32.
        const offset = reachPoints - Math.round(time * POINTS_PER_SAMPLE);
        for (let i = first; i < last; i++) out[i - start] += unit[offset + i * POINTS_PER_SAMPLE];
      }
      times = times.filter((time) => time + reach > end);
    },
  };
}

/** λ(t)/λ₀ at a moment, samples; never below 0. */
function firingShare(time: number, sampleRateHz: number, answers: readonly Answer[]): number {
  let share = 1;
  for (const { sample, shiftMs, depth } of answers) {
    const sinceMs = ((time - sample) * 1000) / sampleRateHz - shiftMs;
    if (sinceMs < 0 || sinceMs > END_MS) continue;
    for (const bell of [DIP, REBOUND]) {
      const away = (sinceMs - bell.latencyMs) / bell.widthMs;
      share += depth * bell.share * exp(-0.5 * away * away);
    }
  }
  return Math.max(0, share);
}

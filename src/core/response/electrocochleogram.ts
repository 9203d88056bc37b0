import { cosineOfCycles, exp, tanh } from '../elementary.ts';
import { nextGaussian, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { soundMs, toneBurst } from './burst.ts';
import { nerveJitterMs } from './clickAbr.ts';
import { cochlearThresholdDb, type HeardEar, heardEars } from './heardEars.ts';
import { neuralEar } from './neuralEar.ts';
import type { ResponseKind } from './responseKind.ts';
import { type Channel, templateResponse } from './templateResponse.ts';
import { wavesUv } from './waves.ts';

/** Electrocochleogram: summating potential, action potential and microphonic, seen from near the cochlea. */
export const electrocochleogram: ResponseKind = {
  id: 'ecochg',
  label: 'Electrocochleography',
  create(scenario, seed) {
    const sizes = cochlearSizes(scenario, seed);
    const play = (shown: CochlearSizes, extraJitterMs: number) =>
      templateResponse(scenario, seed, {
        endMs: 12 + soundMs(scenario.stimulus),
        curve: (polarity, channel) => cochlearCurve(scenario, shown, polarity, channel, seed),
        extraJitterMs,
      });
    const jitterMs = nerveJitterMs(scenario);
    if (jitterMs === 0) return play(sizes, 0);
    // Fibres out of step do not move the hair cells. Both parts draw the same latencies and sizes.
    const parts = [play({ ...sizes, actionUv: 0 }, 0), play({ ...sizes, summatingUv: 0, microphonicUv: 0 }, jitterMs)];
    return {
      present: (presentation) => {
        for (const part of parts) part.present(presentation);
      },
      addUv: (channelsUv, start, count) => {
        for (const part of parts) part.addUv(channelsUv, start, count);
      },
    };
  },
};

/** Sizes of the three potentials at the electrode, µV, magnitudes. */
export interface CochlearSizes {
  summatingUv: number;
  /** N1, base to peak. */
  actionUv: number;
  microphonicUv: number;
}

// Electrode gain relative to the ear canal: membrane so that 0.45 µV becomes 2.8 µV, within 2.39–3.73 µV; through the
// eardrum 5 times that, within 4–6 times [HA00].
const ELECTRODE_GAIN = { canal: 1, membrane: 6.2, transtympanic: 31 };
const CANAL_SOFT_FROM_UV = 0.45; // µV, model value: up to here the canal shows the nerve as it is
const CANAL_CEILING_UV = 0.6; // µV, model value: nobody's canal shows more
const REFERENCE_DB_NHL = 87; // dB nHL: the sizes of the scenario hold here
const FAR_ELECTRODE_GAIN = 0.1; // ×: what the electrode on the other side sees, model value

/**
 * Works out the sizes for level, rate, person and electrode.
 *
 *     AP = A · I(L)/I(87) · e^(−(r − 10)/100) · wave I of the person,   I(L) = 1/(1 + e^(−(L − 62)/9))
 *     SP = ratio · A · I(L)/I(87)                no adaptation: SP/AP grows with the rate
 *     CM = C · 10^((L − θ − 87)/40)              from the hair cells, whatever the nerve does; θ threshold of the cochlea
 *     AP and the A of SP bend over above 0.45 µV towards 0.6 µV, as seen from the canal, before the gain of the electrode
 *
 * Lost hair cells make no microphonic, and recruitment brings none back: a loss acts as if the sound were fainter by it.
 * Between people AP has the log-size 0.35, the ratio the deviation 0.07 (0.12 in hydrops, where the ratio is above 0.4),
 * from the stream 'patient/cochlea'. Model values where no source is named.
 *
 * @example cochlearSizes(resolveScenario({ response: { kind: 'ecochg' } }), '1').actionUv // 0.45 at 90 dB nHL, 11.3/s
 */
export function cochlearSizes(scenario: Scenario, seed: string): CochlearSizes {
  const { actionPotentialUv, summatingRatio, microphonicUv, electrode } = scenario.ecochg;
  const { ratePerS } = scenario.stimulus;
  const { scatter } = scenario.patient;
  const draws = stream(seed, 'patient/cochlea');
  const personalSize = exp(scatter * 0.35 * nextGaussian(draws));
  const ratioSd = summatingRatio > 0.4 ? 0.12 : 0.07;
  const ratio = Math.max(0, summatingRatio + scatter * ratioSd * nextGaussian(draws));
  const ear = testEar(scenario);
  const growth = ear ? inputOutput(ear.levelDbNhl) / inputOutput(REFERENCE_DB_NHL) : 0;
  // The person's own size is drawn here: that of the brainstem waves would count twice.
  const nerve = neuralEar({ ...scenario, patient: { ...scenario.patient, scatter: 0 } }, seed);
  const gain = ELECTRODE_GAIN[electrode];
  const restedUv = actionPotentialUv * personalSize * growth;
  const canalUv = restedUv * nerve.sizeI * exp((-(ratePerS - 10) * nerve.rateFactor) / 100);
  const hairCells = scenario.hearing.desynchrony.present ? scenario.hearing.desynchrony.microphonicGain : 1;
  return {
    summatingUv: gain * ratio * softCeiling(restedUv),
    actionUv: gain * softCeiling(canalUv),
    microphonicUv:
      gain *
      microphonicUv *
      hairCells *
      exp((Math.min(100, conductedDb(scenario)) - cochlearThresholdDb(scenario) - REFERENCE_DB_NHL) / 17.4),
  };
}

/** Latency of N1, ms: 1.50 + 0.9·e^(−(L − 40)/18), 0.0015 ms later per 1/s above 10/s, rarefaction 0.06 ms earlier. */
export function firstNegativityMs(levelDbNhl: number, ratePerS: number, polarity: 1 | -1): number {
  return 1.5 + 0.9 * exp(-(levelDbNhl - 40) / 18) + 0.0015 * (ratePerS - 10) + (polarity === -1 ? -0.06 : 0);
}

function testEar(scenario: Scenario): HeardEar | null {
  return heardEars(scenario).find(({ side }) => side === 'test') ?? null;
}

function inputOutput(levelDb: number): number {
  return 1 / (1 + exp(-(levelDb - 62) / 9));
}

function conductedDb({ stimulus, hearing }: Scenario): number {
  return stimulus.levelDbNhl - (stimulus.transducer === 'bone' ? 0 : hearing.conductiveDb);
}

/** Bends a size above 0.45 µV over towards 0.6 µV. */
function softCeiling(sizeUv: number): number {
  const room = CANAL_CEILING_UV - CANAL_SOFT_FROM_UV;
  return sizeUv <= CANAL_SOFT_FROM_UV ? sizeUv : CANAL_SOFT_FROM_UV + room * tanh((sizeUv - CANAL_SOFT_FROM_UV) / room);
}

/**
 * The potentials as a function of time, negative at the electrode near the cochlea.
 *
 *     SP(t) = −½·SP·[tanh((t − 0.75)/0.10) − tanh((t − t_off)/0.35)],  t_off = 2.2 ms for a click, end of a burst + 0.8
 *     AP(t): N1 with the widths 0.16 ms before and 0.28 ms after its peak, N2 0.95 ms later with 0.35 of the size
 *     CM(t) = ±CM·[cos(2π·2.5 kHz·t)·e^(−t/0.8 ms) or the tone burst itself], + for condensation
 *
 * The two polarities of the microphonic differ by twice the imbalance, so alternation does not remove all of it.
 */
function cochlearCurve(
  scenario: Scenario,
  { summatingUv, actionUv, microphonicUv }: CochlearSizes,
  polarity: 1 | -1,
  channel: Channel,
  seed: string,
): (timeMs: number) => number {
  const { stimulus, ecochg } = scenario;
  const side = channel === 'ipsilateral' ? 1 : FAR_ELECTRODE_GAIN;
  const heardDb = testEar(scenario)?.timingDbNhl ?? 20; // where nothing is heard there is nothing to be late
  const { latencyIMs, rateFactor } = neuralEar(scenario, seed);
  const ratePerS = 10 + (stimulus.ratePerS - 10) * rateFactor;
  const n1Ms = firstNegativityMs(Math.max(20, heardDb), ratePerS, polarity) + latencyIMs;
  const click = stimulus.kind === 'click';
  const offMs = click ? 2.2 : soundMs(stimulus) + 0.8;
  const microphonic = polarity * microphonicUv * (1 + polarity * ecochg.polarityImbalance);
  const n2 = [
    { name: 'N2', latencyMs: n1Ms + 0.95, widthMs: 0.3, amplitudeUv: 0.35, troughRatio: 0, troughDelayMs: 0 },
  ];
  return (timeMs) => {
    const plateau = 0.5 * (tanh((timeMs - 0.75) / 0.1) - tanh((timeMs - offMs) / 0.35));
    const fromPeak = (timeMs - n1Ms) / (timeMs < n1Ms ? 0.16 : 0.28);
    const spike = exp(-0.5 * fromPeak * fromPeak) + wavesUv(n2, timeMs);
    const ringing = click ? clickRinging(timeMs) : toneBurst(stimulus, timeMs);
    return side * (microphonic * ringing - summatingUv * plateau - actionUv * spike);
  };
}

/** Microphonic of a click: 2.5 kHz that dies out in 0.8 ms and begins from rest within 0.1 ms. */
function clickRinging(timeMs: number): number {
  if (timeMs <= 0) return 0;
  return Math.min(1, timeMs / 0.1) * cosineOfCycles(2.5 * timeMs) * exp(-timeMs / 0.8);
}

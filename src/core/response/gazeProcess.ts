import { exp, power } from '../elementary.ts';
import { nextExponential, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { pausesOf, withPauses } from '../stimulus/pauses.ts';
import { beatS, trainOf } from '../stimulus/schedule.ts';

const HOLD_SHAPE = 4; // shape of the gamma distribution of the hold: scatter of half the mean, model value

/**
 * Share of the full response that is left at an angle of gaze.
 *
 *     q(θ) = 0.38 + 0.62·(θ/35°)^1.3,   θ limited to 0 … 35°
 *
 * So full gaze gives 2.6 times what neutral gaze gives [OG11]; the curve between is a model value.
 *
 * @example gazeShare(35) // 1
 */
export function gazeShare(angleDeg: number): number {
  const share = Math.min(1, Math.max(0, angleDeg / 35));
  return 0.38 + (share > 0 ? 0.62 * power(share, 1.3) : 0);
}

/**
 * Makes the angle of gaze at each stimulus, in order.
 *
 *     held at the target for H, then θ = sag + (target − sag)·e^(−(t − H)/2 s)  until the next rest
 *     H = Gamma(shape 4) · mean · (1 − loss)^hold · min(1, rest/8 s)
 *
 * t is the time since the hold began: with each train, after each pause, and when the patient is asked to look up
 * (`gazeOrders`). The rest before the first one was long enough; the rest before an order began when the gaze was brought
 * down or the last hold ran out. A train without end and without an order is one hold: a patient who is never given a
 * rest does not come up again. A sag above the target is none. Draws four times a hold from the stream 'gaze/hold';
 * sizes are model values.
 *
 * @returns a function from the index of a stimulus to degrees; indices must not go down
 */
export function gazeProcess(scenario: Scenario, seed: string): (index: number) => number {
  const { targetDeg, holdS, sagTimeS, recoveryS, lossPerTrain } = scenario.gaze;
  const sagDeg = Math.min(scenario.gaze.sagDeg, targetDeg);
  const { restS, trainS } = scenario.stimulus;
  const pauses = pausesOf(scenario);
  const orders = gazeOrders(scenario);
  const draws = stream(seed, 'gaze/hold');
  let train = -1;
  let pausesOver = 0;
  let ordersOver = 0;
  let kept = 1; // share of a fresh hold that earlier ones have left
  let heldFromS = 0;
  let holdNowS = 0;
  let downFromS = Infinity; // the gaze was brought down, and not up again

  function beginHold(fromS: number, restedS: number): void {
    heldFromS = fromS;
    let draw = 0;
    for (let k = 0; k < HOLD_SHAPE; k++) draw += nextExponential(draws) / HOLD_SHAPE;
    holdNowS = draw * holdS * kept * Math.min(1, restedS / recoveryS);
    kept *= 1 - lossPerTrain;
  }

  function follow({ atS, up }: GazeOrder): void {
    if (!up) {
      downFromS = Math.min(downFromS, atS);
      return;
    }
    // What comes before the first stimulus finds a rested patient, whose hold begins with it.
    if (train >= 0 && atS > heldFromS) beginHold(atS, Math.max(0, atS - Math.min(downFromS, heldFromS + holdNowS)));
    downFromS = Infinity;
  }

  return (index) => {
    const nowS = beatS(scenario, index);
    while (ordersOver < orders.length && orders[ordersOver].atS <= nowS + 1e-9) follow(orders[ordersOver++]);
    let pausedS = 0;
    let resumedS = 0;
    for (; pausesOver < pauses.length && pauses[pausesOver].fromS <= nowS + 1e-9; pausesOver++) {
      pausedS += pauses[pausesOver].lengthS;
      resumedS = pauses[pausesOver].fromS + pauses[pausesOver].lengthS;
    }
    if (train === trainOf(scenario, index) && pausedS > 0) beginHold(resumedS, pausedS);
    while (train < trainOf(scenario, index)) {
      train++;
      const startS = train * (trainS + restS);
      beginHold(pauses.length > 0 ? withPauses(pauses, startS) : startS, train === 0 ? recoveryS : restS + pausedS);
    }
    const sinceS = nowS - heldFromS;
    if (sinceS <= holdNowS) return targetDeg;
    return sagDeg + (targetDeg - sagDeg) * exp(-(sinceS - holdNowS) / sagTimeS);
  };
}

/** A patient is asked to look up, or to look ahead. */
interface GazeOrder {
  atS: number;
  up: boolean;
}

/**
 * What the events of a scenario ask of the gaze, in order of time: by name, or by setting `gaze.targetDeg`, 0 for ahead.
 *
 * An order that comes with a pause is followed at the end of it, as after every pause, so it is none of its own.
 */
function gazeOrders({ events }: Scenario): GazeOrder[] {
  return events.flatMap(({ atS, action, pauseS, set }): GazeOrder[] => {
    const targetDeg = set['gaze.targetDeg'];
    const up = typeof targetDeg === 'number' ? targetDeg > 0 : action === 'look-up';
    const asked = up || typeof targetDeg === 'number' || action === 'look-ahead';
    return asked && !(up && pauseS > 0) ? [{ atS, up }] : [];
  });
}

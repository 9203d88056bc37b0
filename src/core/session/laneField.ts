import type { AveragingContext, AveragingStrategy, SweepMeta, VerdictListener } from '../averaging/strategy.ts';
import { type Lane, type LaneSetting, openLane } from './lanes.ts';
import type { Wishes } from './session.ts';

/** All lanes of one run: every sweep goes to each of them. */
export interface LaneField extends Wishes {
  /** Offers a sweep to every lane. `meta.interval` and sensors reach those that declare them, no others. */
  add(sweepUv: Float64Array, meta: SweepMeta): void;
  /** The lanes as they were when somebody last asked. */
  lanes: readonly Lane[];
  /** The lanes as they stand now; those that judge in hindsight have been run again from the first sweep. */
  now(): readonly Lane[];
  /** Ends the run: hindsight lanes tell their verdicts. Returns the lanes. */
  finish(): readonly Lane[];
  /** Frees what the lanes hold outside this program's memory; nothing may be asked afterwards. */
  release(): void;
}

/**
 * Opens the lanes of a run.
 *
 * A lane that judges in hindsight gets its sweeps only when somebody asks: each time a fresh averager takes them from
 * the first on, so that nothing can pass from what is known later to what is claimed earlier.
 *
 * @param listeners - one for each lane, or none   @param outside - strategies that are not the lab's own
 */
export function laneField(
  settings: readonly LaneSetting[],
  context: AveragingContext,
  listeners: readonly VerdictListener[] = [],
  outside: readonly AveragingStrategy[] = [],
): LaneField {
  const open = (k: number, listener?: VerdictListener) => openLane(settings[k], context, listener, outside);
  const lanes = settings.map((_, k) => open(k, listeners[k]));
  const hindsight = lanes.map(({ strategy }) => strategy.timing === 'hindsight');
  const keeps = hindsight.includes(true);
  const sweepsUv: Float64Array[] = [];
  const metas: SweepMeta[] = [];
  let readAt = 0; // sweeps that the hindsight lanes have seen

  const hindsightHears = lanes.some(({ strategy }, k) => hindsight[k] && strategy.usesInterval);

  /** What lane k is told: only what its strategy declares that it uses. */
  function told(k: number, meta: SweepMeta): SweepMeta {
    const { usesInterval, usesBehaviour } = lanes[k].strategy;
    if (usesInterval && usesBehaviour) return meta;
    const { interval, gazeDeg, moved, ...plain } = meta;
    if (usesInterval && interval) return { ...plain, interval };
    if (!usesBehaviour) return plain;
    return { ...plain, ...(gazeDeg === undefined ? {} : { gazeDeg }), ...(moved === undefined ? {} : { moved }) };
  }

  function rerun(listen: boolean): void {
    for (let k = 0; k < lanes.length; k++) {
      if (!hindsight[k]) continue;
      lanes[k].averager.release?.();
      lanes[k] = open(k, listen ? listeners[k] : undefined);
      for (let j = 0; j < metas.length; j++) lanes[k].averager.add(sweepsUv[j], told(k, metas[j]));
    }
    readAt = metas.length;
  }

  return {
    lanes,
    usesInterval: lanes.some(({ strategy }) => strategy.usesInterval),
    usesBehaviour: lanes.some(({ strategy }) => strategy.usesBehaviour),
    add(sweepUv, meta) {
      for (let k = 0; k < lanes.length; k++) {
        if (hindsight[k]) continue;
        lanes[k].averager.add(sweepUv, told(k, meta));
      }
      if (!keeps) return;
      sweepsUv.push(sweepUv.slice());
      const { interval, ...plain } = meta;
      const kept = hindsightHears && interval ? { ...interval, samplesUv: interval.samplesUv.slice() } : null;
      metas.push(kept ? { ...plain, interval: kept } : plain);
    },
    now() {
      if (keeps && readAt < metas.length) rerun(false);
      return lanes;
    },
    finish() {
      if (!keeps) return lanes;
      rerun(true);
      for (let k = 0; k < lanes.length; k++) if (hindsight[k]) lanes[k].averager.settle?.();
      return lanes;
    },
    release() {
      for (const { averager } of lanes) averager.release?.();
    },
  };
}

import { settlingSampleCount } from './filterMemory.ts';
import { type FilterCascade, filterCascade, type Section } from './filters.ts';

/** What is left at the far end of the look-ahead, relative to the signal there. */
const LEFT_OUT = 1e-8;

/** A filter whose output belongs to an earlier sample than its input. */
export interface DelayedFilter extends FilterCascade {
  /** Output sample n is the filtered input sample n − delaySampleCount. */
  readonly delaySampleCount: number;
}

/**
 * Makes a running filter that delays no frequency against another: forwards, then backwards over what came later.
 *
 *     y = reverse(H(reverse(H(x)))),   so |H|² and phase 0: −6 dB at the corner of H
 *
 * Backwards it runs over pieces of the recording that are fixed in absolute time, each begun one look-ahead L after its
 * end, so that 10⁻⁸ of what lies there is missing; piece and look-ahead are equally long, hence the delay 2L. The length
 * of blocks does not change a bit.
 */
export function zeroPhaseStream(sections: readonly Section[]): DelayedFilter {
  const piece = settlingSampleCount(sections, LEFT_OUT);
  const delay = 2 * piece;
  const forward = filterCascade(sections);
  const waiting = [new Float64Array(3 * piece), new Float64Array(3 * piece)]; // forward output, not yet finished
  const done = [new Float64Array(3 * piece), new Float64Array(3 * piece)]; // finished, not yet handed on
  const backward = [new Float64Array(2 * piece), new Float64Array(2 * piece)];
  let waitingCount = 0;
  let doneFrom = 0;
  let doneTo = delay; // zeros stand for what came before the recording

  /** Finishes the oldest piece. */
  function finishPiece(): void {
    for (let c = 0; c < 2; c++) {
      for (let i = 0; i < 2 * piece; i++) backward[c][i] = waiting[c][2 * piece - 1 - i];
    }
    filterCascade(sections).run(backward[0], backward[1], 2 * piece);
    for (let c = 0; c < 2; c++) {
      done[c].copyWithin(0, doneFrom, doneTo);
      for (let i = 0; i < piece; i++) done[c][doneTo - doneFrom + i] = backward[c][2 * piece - 1 - i];
      waiting[c].copyWithin(0, piece, waitingCount);
    }
    doneTo += piece - doneFrom;
    doneFrom = 0;
    waitingCount -= piece;
  }

  return {
    delaySampleCount: delay,
    run(signal0, signal1, count) {
      const signals = [signal0, signal1];
      forward.run(signal0, signal1, count);
      for (let at = 0; at < count; ) {
        // Never more than one piece at a time, so that no buffer overflows whatever the block.
        const length = Math.min(count - at, piece);
        for (let c = 0; c < 2; c++) waiting[c].set(signals[c].subarray(at, at + length), waitingCount);
        waitingCount += length;
        while (waitingCount >= 2 * piece) finishPiece();
        for (let c = 0; c < 2; c++) signals[c].set(done[c].subarray(doneFrom, doneFrom + length), at);
        doneFrom += length;
        at += length;
      }
    },
  };
}

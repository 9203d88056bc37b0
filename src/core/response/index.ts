import { cervicalVemp } from './cervicalVemp.ts';
import { clickAbr } from './clickAbr.ts';
import { corticalResponse } from './corticalResponse.ts';
import { electrocochleogram } from './electrocochleogram.ts';
import { middleLatency } from './middleLatency.ts';
import { ocularVemp } from './ocularVemp.ts';
import type { ResponseKind } from './responseKind.ts';
import { silence } from './silence.ts';
import { steadyState } from './steadyState.ts';
import { toneAbr } from './toneAbr.ts';

/** Every kind of response. */
export const responseKinds: readonly ResponseKind[] = [
  clickAbr,
  toneAbr,
  electrocochleogram,
  cervicalVemp,
  ocularVemp,
  middleLatency,
  corticalResponse,
  steadyState,
  silence,
];

/** Finds a kind of response by its id. @throws {RangeError} naming the choices */
export function responseKind(id: string): ResponseKind {
  const found = responseKinds.find((kind) => kind.id === id);
  if (found) return found;
  throw new RangeError(`unknown response "${id}"; one of ${responseKinds.map((kind) => kind.id).join(', ')}`);
}

import { clickAbr } from './clickAbr.ts';
import type { ResponseKind } from './responseKind.ts';
import { silence } from './silence.ts';

/** Every kind of response, in the order in which they come after the stimulus. */
export const responseKinds: readonly ResponseKind[] = [clickAbr, silence];

/** Finds a kind of response by its id. @throws {RangeError} naming the choices */
export function responseKind(id: string): ResponseKind {
  const found = responseKinds.find((kind) => kind.id === id);
  if (found) return found;
  throw new RangeError(`unknown response "${id}"; one of ${responseKinds.map((kind) => kind.id).join(', ')}`);
}

import type { ResponseKind } from './responseKind.ts';

/** A patient who answers nothing: whatever stands up in the average is noise. */
export const silence: ResponseKind = {
  id: 'none',
  label: 'No response',
  create: () => ({ present: () => {}, addUv: () => {} }),
};

// The published types describe the package's front door only; this is the one generator behind it that we open.
declare module 'seedrandom/lib/alea.js' {
  import type { PRNG } from 'seedrandom';

  export default function alea(seed: string): PRNG;
}

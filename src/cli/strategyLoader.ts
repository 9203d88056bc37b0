/**
 * Address of the module that loads strategies from files into a sandbox.
 *
 * Handed down as an address, since threads and queue workers of a study load it anew, each in its own process.
 */
export const STRATEGY_LOADER = new URL('./outside/outsideStrategy.ts', import.meta.url).href;

import { setImmediate } from 'node:timers/promises';
import { backgroundsOf } from '../backgrounds.ts';
import type { Engine } from '../engine.ts';
import { rowsOfBlock } from '../runBlock.ts';
import { bytesOf } from './openPlan.ts';

/** Runs blocks one after the other in this process. */
export function inProcessEngine(): Engine {
  return {
    label: 'this process',
    async run({ plan, version, blocks, store, signal }) {
      const backgrounds = backgroundsOf(plan, bytesOf);
      for (const block of blocks) {
        await setImmediate(); // lets Ctrl-C in
        if (signal.aborted) return;
        store(block, rowsOfBlock(plan, block, version, backgrounds));
      }
    },
    async close() {},
  };
}

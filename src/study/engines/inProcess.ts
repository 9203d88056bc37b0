import { setImmediate } from 'node:timers/promises';
import { rowsOfBlock } from '../runBlock.ts';
import { backgroundsOf } from './backgroundFiles.ts';
import type { Engine } from './engine.ts';

/** Runs blocks one after the other in this process. */
export function inProcessEngine(): Engine {
  return {
    label: 'this process',
    async run({ plan, version, blocks, store, signal }) {
      const backgrounds = backgroundsOf(plan);
      for (const block of blocks) {
        await setImmediate(); // lets Ctrl-C in
        if (signal.aborted) return;
        store(block, rowsOfBlock(plan, block, version, backgrounds));
      }
    },
    async close() {},
  };
}

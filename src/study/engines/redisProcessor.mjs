// Plain JavaScript: the sandbox starts without tsx, so its first file must not be TypeScript.
import { fileURLToPath } from 'node:url';
import { register } from 'tsx/esm/api';

// A worker that was killed leaves its sandboxes behind. They have nobody to work for, and their queue's own handler of
// errors would try to tell the dead worker for ever.
const leave = () => process.exit(1);
process.on('disconnect', leave);
process.prependListener('uncaughtException', ({ code }) => {
  if (code === 'EPIPE' || code === 'ERR_IPC_CHANNEL_CLOSED') leave();
});
if (!process.connected) leave();

register({ tsconfig: fileURLToPath(new URL('../../../tsconfig.run.json', import.meta.url)) });
const { processBlock } = await import('./redisBlock.ts');
export default processBlock;

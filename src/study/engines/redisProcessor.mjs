// Plain JavaScript: the sandbox starts without tsx, so its first file must not be TypeScript.
import { fileURLToPath } from 'node:url';
import { register } from 'tsx/esm/api';

register({ tsconfig: fileURLToPath(new URL('../../../tsconfig.json', import.meta.url)) });
const { processBlock } = await import('./redisBlock.ts');
export default processBlock;

// Plain JavaScript: a thread starts without tsx, so its first file must not be TypeScript.
import { fileURLToPath } from 'node:url';
import { register } from 'tsx/esm/api';

register({ tsconfig: fileURLToPath(new URL('../../../tsconfig.run.json', import.meta.url)) });
await import('./threadLoop.ts');

#!/usr/bin/env node
// Plain JavaScript on purpose: Node cannot read TypeScript until tsx is registered, so the first file must not be any.
// Every path resolves against this file's real place, so a symlink or another working directory changes nothing.
import { fileURLToPath } from 'node:url';
import { register } from 'tsx/esm/api';

register({ tsconfig: fileURLToPath(new URL('../../tsconfig.run.json', import.meta.url)) });
await import('./main.ts');

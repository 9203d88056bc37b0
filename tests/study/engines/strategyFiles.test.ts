import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { STRATEGY_LOADER } from '../../../src/cli/strategyLoader.ts';
import { bytesHash } from '../../../src/study/contentHash.ts';
import { outsideOf, wholeFiles } from '../../../src/study/engines/openPlan.ts';
import { ownStrategy, scratchFolder } from './resultFolder.ts';

const folder = scratchFolder('sources');
const file = (name: string) => ({ kind: 'strategy' as const, name: `./${name}`, path: join(folder, name), hash: '' });
const hashOf = async (name: string) => (await wholeFiles([file(name)], STRATEGY_LOADER))[0].hash;

describe('the hash of a strategy from files', () => {
  it('is that of the file where there is one, and covers what it imports where there are more', async () => {
    ownStrategy(folder);
    const text =
      'export { default } from "./mine.ts";\nimport { floor } from "./parts/floor.ts";\nexport const least = floor;\n';
    writeFileSync(join(folder, 'whole.ts'), text);
    const parts = file('parts/floor.ts').path;
    mkdirSync(join(folder, 'parts'));
    writeFileSync(parts, 'export const floor = 1;\n');
    expect(await hashOf('mine.ts')).toBe(bytesHash(readFileSync(join(folder, 'mine.ts'))));
    const before = await hashOf('whole.ts');
    expect(before).not.toBe(bytesHash(readFileSync(join(folder, 'whole.ts'))));
    expect(await hashOf('whole.ts')).toBe(before);
    writeFileSync(parts, 'export const floor = 2;\n');
    const after = await hashOf('whole.ts');
    expect(after).not.toBe(before);
    await expect(outsideOf([{ ...file('whole.ts'), hash: before }], STRATEGY_LOADER)).rejects.toThrow(
      `strategies: ./whole.ts must be the file of the study (${before.slice(0, 12)}), got ${after.slice(0, 12)}`,
    );
  });
});

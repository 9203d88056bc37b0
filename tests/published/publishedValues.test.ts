import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { publishedLatencies } from '../../src/web/model/publishedLatency.ts';

const root = new URL('../../', import.meta.url);
const read = (path: string) => readFileSync(new URL(path, root), 'utf8');

/** Ids in a text; A01–A04 stands for four. */
function idsIn(text: string): string[] {
  const ids: string[] = [];
  for (const [, letter, from, to] of text.matchAll(/\b([A-K])(\d{2})(?:[–-][A-K](\d{2}))?\b/g)) {
    for (let n = Number(from); n <= Number(to ?? from); n++) ids.push(`${letter}${String(n).padStart(2, '0')}`);
  }
  return ids;
}

const section = read('src/core/MODEL.md').split('\n## Published values\n')[1].split('\n## ')[0];
const [, checkedText, contradictedText, uncheckedText] = section.split('\n### ');
const entries = (text: string) => text.split('\n').filter((line) => line.startsWith('- '));
const checked = entries(checkedText).map((line) => {
  const [, file, list] = /^- `([^`]+)`: (.*)$/.exec(line) ?? ['', '', ''];
  return { file, ids: idsIn(list) };
});
const contradicted = entries(contradictedText).map((line) => {
  const [, list, file, why] = /^- ([A-K0-9,– ]+) \(`([^`]+)`\): (.+)$/.exec(line) ?? ['', '', '', ''];
  return { ids: idsIn(list), file, why };
});
const unchecked = entries(uncheckedText).map((line) => {
  const [, list, why] = /^- ([A-K0-9,– ]+): (.+)$/.exec(line) ?? ['', '', ''];
  return { ids: idsIn(list), why };
});

describe('the published latencies that the page draws', () => {
  it.each([{}, { patient: { infant: { present: true } } }])('are those of the list: %j', (document) => {
    type Row = {
      id: string;
      mean?: number;
      sd?: number;
      lo?: number;
      hi?: number;
      value?: number[];
      confirmation: string;
    };
    const rows = JSON.parse(read('../shared/reference/published-values.json')) as Row[];
    const drawn = publishedLatencies(resolveScenario(document));
    expect(drawn.length).toBeGreaterThan(0);
    for (const { id, meanMs, lowMs, highMs, source } of drawn) {
      const row = rows.find((one) => one.id === id);
      const mean = row?.mean ?? row?.value?.[0] ?? NaN;
      const spread = 2 * (row?.sd ?? 0);
      expect([lowMs, highMs], id).toEqual([row?.lo ?? mean - spread, row?.hi ?? mean + spread]);
      if (Number.isFinite(meanMs)) expect(meanMs, id).toBe(mean);
      expect(source.includes('from memory'), id).toBe(row?.confirmation.startsWith('memory')); // said where it is so
    }
  });
  it('are none for a sound that is no click', () => {
    expect(
      publishedLatencies(resolveScenario({ response: { kind: 'tone-abr' }, stimulus: { kind: 'tone-burst' } })),
    ).toEqual([]);
  });
});

describe('the list of published values in MODEL.md', () => {
  const found = (
    JSON.parse(read('../shared/reference/published-values.json')) as { id: string; confirmation: string }[]
  )
    .filter(({ confirmation }) => confirmation.startsWith('found'))
    .map(({ id }) => id);

  it('holds every value that was found at its source, each in one place', () => {
    const listed = [...checked, ...contradicted, ...unchecked].flatMap(({ ids }) => ids);
    expect(listed.sort()).toEqual([...found].sort());
    expect(section).toContain(`Of the ${found.length} values`);
  });

  it('counts right, and 120 or more are checked', () => {
    const count = checked.flatMap(({ ids }) => ids).length;
    expect(count).toBeGreaterThanOrEqual(120);
    const against = contradicted.flatMap(({ ids }) => ids).length;
    const rest = found.length - count - against;
    expect(section).toContain(`${count} are checked, ${against} are contradicted and ${rest} cannot be checked`);
  });

  it.each(checked.map(({ file, ids }) => [file, ids] as const))('%s names what it is said to check', (file, ids) => {
    const named = new Set(idsIn(read(file)));
    expect(ids.length).toBeGreaterThan(0);
    for (const id of ids) expect(named.has(id), id).toBe(true);
  });

  it.each(contradicted.map(({ ids, file, why }) => [ids, file, why] as const))(
    '%j: %s tests by how much',
    (ids, file, why) => {
      expect(ids.length).toBeGreaterThan(0);
      expect(why).toMatch(/\d/);
      for (const id of ids) expect(read(file)).toContain(`${id}: contradicted`);
    },
  );

  it.each(unchecked.map(({ ids, why }) => [ids, why] as const))('says why not %j', (ids, why) => {
    expect(ids.length).toBeGreaterThan(0);
    expect(why.length).toBeGreaterThan(5);
  });
});

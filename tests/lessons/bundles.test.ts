import { describe, expect, it } from 'vitest';
import { bundles, lessonsOf, minutesOf } from '../../src/lessons/bundles.ts';
import { lesson, lessonSlugs } from './lessonFolders.ts';

const entries = lessonSlugs.map((slug) => ({ lesson: lesson(slug) }));

describe('bundles', () => {
  it.each(bundles.map((bundle) => [bundle.id, bundle] as const))('%s: its lessons come in its order', (_, bundle) => {
    const ids = lessonsOf(bundle, entries).map((entry) => entry.lesson.id);
    expect(ids.length).toBeGreaterThan(1);
    expect(ids).toEqual(bundle.order.filter((id) => ids.includes(id)));
  });

  it('knows the place of every lesson that names a bundle', () => {
    for (const { lesson: it } of entries) {
      for (const id of it.bundles) expect(bundles.find((bundle) => bundle.id === id)?.order, it.id).toContain(it.id);
    }
  });

  it('puts a lesson that the order does not know last, and adds up minutes', () => {
    const [first] = bundles;
    const foreign = { lesson: { ...entries[0].lesson, id: 'not-ours', bundles: [first.id], minutes: 7 } };
    const all = lessonsOf(first, [foreign, ...entries]);
    expect(all[all.length - 1]).toBe(foreign);
    expect(minutesOf(all)).toBe(minutesOf(lessonsOf(first, entries)) + 7);
  });
});

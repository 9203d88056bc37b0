import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { loadStudy } from '../../src/study/engines/loadStudy.ts';
import { mostRecordings } from '../../src/study/plan.ts';
import { escaped } from '../../src/study/report/svg.ts';

const folder = fileURLToPath(new URL('../../assets/studies/', import.meta.url));
const names = readdirSync(folder);

describe('the worked examples', () => {
  it('are five', () => {
    expect(names.length).toBe(5);
  });

  it.each(names)('%s: the report is of this very study, with its answer', async (name) => {
    const plan = await loadStudy(`${folder}${name}/study.yaml`);
    expect(plan.study.id).toBe(name);
    const page = existsSync(`${folder}${name}/report.html`) ? readFileSync(`${folder}${name}/report.html`, 'utf8') : '';
    const paragraphs = (plan.study.answer ?? '').split(/\n\s*\n/).filter((text) => text.trim() !== '');
    expect(paragraphs.length).toBeGreaterThan(1);
    const missing = [plan.hash, plan.study.question, ...paragraphs].filter((text) => !page.includes(escaped(text)));
    expect(missing).toEqual([]);
    expect(page.includes('Partial results')).toBe(false);
    // Three minutes on two cores, at a fifth of a second each with room for many settings.
    expect(mostRecordings(plan)).toBeLessThanOrEqual(400);
  });
});

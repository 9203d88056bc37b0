import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { lessonSlugs } from '../lessons/lessonFolders.ts';
import { writeQuickClass } from '../lessons/quickClass.ts';
import { sweepwise } from './sweepwise.ts';

let folder: string;
let lessonFolder: string;
let attempts: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'sweepwise-lesson-'));
  ({ lessonFolder, attempts } = writeQuickClass(folder));
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('sweepwise lesson', () => {
  it('checks every lesson of the lab, and lists them', () => {
    const { stdout, status } = sweepwise(['lesson', 'check', 'all']);
    expect(status).toBe(0);
    for (const slug of lessonSlugs) expect(stdout).toContain(`${slug}: good`);
    const list = sweepwise(['lesson', 'list']).stdout;
    expect(list).toContain('Quieter by the root (25 minutes)');
    expect(list).toMatch(/^engineer +For those who build averagers \(\d+ lessons, \d+ minutes\)$/m);
    expect(list).toMatch(/^ {2}1 which-beat-to-march-to +Which beat to march to \(35 minutes\)$/m);
  });

  it('names file, line, rule and value of a bad lesson', () => {
    const bad = join(folder, 'bad');
    mkdirSync(bad);
    const text = readFileSync(join(lessonFolder, 'lesson.yaml'), 'utf8').replace(/^minutes: .*$/m, 'minutes: -3');
    writeFileSync(join(bad, 'lesson.yaml'), text);
    const { stderr, status } = sweepwise(['lesson', 'check', bad]);
    expect(status).toBe(1);
    expect(stderr).toMatch(/^sweepwise: \S*lesson\.yaml:\d+: minutes: must be .*, got -3\n$/);
  });

  it('runs the standard players, and fails if the lesson is not fair', () => {
    const { stdout, status } = sweepwise(['lesson', 'dry-run', lessonFolder, '--seeds', '2', '--json']);
    const [{ players, verdicts }] = JSON.parse(stdout);
    expect(players.map(({ id }: { id: string }) => id)).toContain('one-patient');
    expect(players.every(({ points }: { points: number[] }) => points.length === 2)).toBe(true);
    expect(status).toBe(verdicts.every(({ holds }: { holds: boolean }) => holds) ? 0 : 1);
  });

  it('verifies attempts: good ones are good, an altered score is found, the others are still verified', () => {
    const files = ['Ada', 'Bo'].map((name) => join(attempts, `${name}.json`));
    const good = sweepwise(['lesson', 'verify', ...files, '--lesson', lessonFolder]);
    expect(good.stdout).toMatch(/Ada\.json: good, \d+ of 100, Ada, attempt 1/);
    expect(good.status).toBe(0);

    const altered = JSON.parse(readFileSync(files[0], 'utf8'));
    altered.score.points += 20;
    const forged = join(folder, 'forged.json');
    writeFileSync(forged, JSON.stringify(altered));
    const broken = join(folder, 'broken.json');
    writeFileSync(broken, '{');
    const { stdout, status } = sweepwise(['lesson', 'verify', forged, broken, files[1], '--lesson', lessonFolder]);
    expect(status).toBe(1);
    expect(stdout).toMatch(/forged\.json: NOT GOOD[\s\S]*score\.points: must be \d+, as simulated, got \d+/);
    expect(stdout).toMatch(/broken\.json: NOT GOOD[\s\S]*must be JSON/);
    expect(stdout).toMatch(/Bo\.json: good/);
  });

  it('reports on a class as text and as CSV', () => {
    const text = sweepwise(['lesson', 'report', attempts, '--lesson', lessonFolder, '--texts']);
    expect(text.stdout).toContain('Quieter by the root: 3 attempts');
    expect(text.stdout).toContain('3/3  “Wildly: by a factor of two or more”');
    expect(text.stdout).toContain('Powers add');
    const { stdout } = sweepwise(['lesson', 'report', attempts, '--lesson', lessonFolder, '--csv']);
    const rows = stdout.trim().split('\n');
    expect(rows).toHaveLength(4);
    expect(rows[0]).toMatch(/^lesson,version,lineHz,learner,attempt.*,slope,/);
  });

  it('writes a handout and a key', () => {
    const { status } = sweepwise(['lesson', 'handout', lessonFolder, '--to', folder]);
    expect(status).toBe(0);
    const handout = readFileSync(join(folder, 'quieter-by-the-root-handout.html'), 'utf8');
    const key = readFileSync(join(folder, 'quieter-by-the-root-key.html'), 'utf8');
    expect(handout).toContain('answer sheet');
    expect(handout).not.toContain('A model answer');
    expect(key).toContain('A model answer');
    expect(handout + key).not.toMatch(/<script|https?:/);
  });

  const refusals = [
    [['lesson', 'dance'], 'lesson: must be list, check,'],
    [['lesson', 'check', 'no-such-lesson'], 'lesson: must be a folder or one of'],
    [['lesson', 'dry-run', 'all', '--line-hz', '55'], '--line-hz: must be 50 or 60, got "55"'],
  ] as const;
  it.each(refusals)('refuses %j in one line', (words, message) => {
    const { stderr, status } = sweepwise([...words]);
    expect(status).toBe(1);
    expect(stderr).toContain(message);
    expect(stderr.trim().split('\n')).toHaveLength(1);
  });
});

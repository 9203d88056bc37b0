import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { drillFile } from '../../src/lessons/drills/drillFile.ts';
import { afterDrillEvent, type DrillEvent, freshDrill } from '../../src/lessons/drills/drillLog.ts';
import { markDrill } from '../../src/lessons/drills/markDrill.ts';
import { drill, drillIds, finished } from '../lessons/drills/drillFiles.ts';
import { sweepwise } from './sweepwise.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'sweepwise-drill-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('sweepwise drill', () => {
  it('lists every drill and checks it for both supplies', () => {
    const { stdout } = sweepwise(['drill', 'list']);
    for (const id of drillIds) expect(stdout).toContain(id);
    const checked = sweepwise(['drill', 'check', 'all']);
    expect(checked.stdout.match(/: good, version/g)?.length).toBe(drillIds.length);
    expect(checked.status).toBe(0);
  });

  it('tells an instructor what a drill is about, and an author what is wrong with one', () => {
    const { stdout, status } = sweepwise(['drill', 'key', 'student-helps']);
    expect(stdout).toMatch(/Two leads plugged in for each other.*Plug the leads in as they belong/);
    expect(status).toBe(0);
    const own = join(folder, 'own.yaml');
    const text = readFileSync(new URL('../../assets/drills/student-helps.yaml', import.meta.url), 'utf8');
    writeFileSync(own, text.replace('leads.swapped', 'leads.swap'));
    const refused = sweepwise(['drill', 'check', own]);
    expect(refused.stderr).toMatch(/own\.yaml:\d+: trouble: must make a scenario: leads\.swap: unknown key/);
    expect(refused.status).toBe(1);
    expect(sweepwise(['drill', 'check', 'nobody']).stderr).toMatch(/drill: must be a YAML file or one of/);
  });

  it('replays records that were saved, and finds the altered one', () => {
    const swapped = drill('student-helps');
    const events: DrillEvent[] = [
      { atS: 40, kind: 'source', source: 'exchanged-leads' },
      { atS: 50, kind: 'remedy', remedy: 'plug-the-leads-right' },
      { atS: 70, kind: 'finish' },
    ];
    const state = events.reduce((before, event) => afterDrillEvent(swapped, before, event), freshDrill);
    const text = JSON.stringify(drillFile(swapped, 'Ada', 'test', events, finished(markDrill(swapped, state))));
    const [good, bad] = ['good.json', 'bad.json'].map((name) => join(folder, name));
    writeFileSync(good, text);
    writeFileSync(bad, text.replace('"source":40', '"source":39'));
    const { stdout, status } = sweepwise(['drill', 'verify', good, bad, join(folder, 'none.json')]);
    expect(stdout).toContain('good.json: good, 100 of 100, Ada');
    expect(stdout).toMatch(/bad\.json: NOT GOOD.*\n {2}score\.lines\.source: must be 40, got 39/);
    expect(stdout).toMatch(/none\.json: NOT GOOD\n {2}.*cannot be read/);
    expect(status).toBe(1);
  });
});

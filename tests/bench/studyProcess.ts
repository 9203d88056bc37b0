/**
 * One run of a study in a process of its own, for studies.ts. Arguments: worker threads, replicates, recordings of each
 * thread that are for warming up.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { driveStudy } from '../../src/study/drive.ts';
import { studyFolder } from '../../src/study/engines/studyFolder.ts';
import { threadsEngine } from '../../src/study/engines/threads.ts';
import { benchPlan } from './studyPlan.ts';

const [workers, replicates, warmUp] = process.argv.slice(2).map(Number);
const plan = benchPlan(replicates);
const path = mkdtempSync(join(tmpdir(), 'sweepwise-bench-'));
const store = studyFolder(join(path, 'results'), plan, 'bench');
const engine = threadsEngine(workers);
const signal = new AbortController().signal;

/** When so many recordings were there, and the processor time that the whole process had spent by then. */
const marks: { done: number; atMs: number; cpuMs: number }[] = [];
await driveStudy({
  store,
  engine,
  signal,
  note: () => {},
  progress: ({ madeNow }) => {
    const { user, system } = process.cpuUsage();
    marks.push({ done: madeNow, atMs: performance.now(), cpuMs: (user + system) / 1000 });
  },
});
await engine.close();
rmSync(path, { recursive: true });
const warm = marks.find(({ done }) => done >= workers * warmUp) ?? marks[0];
const last = marks[marks.length - 1];
const count = last.done - warm.done;
const recordingsPerS = (1000 * count) / (last.atMs - warm.atMs);
const cpuMsEach = (last.cpuMs - warm.cpuMs) / count;
const peakMb = process.resourceUsage().maxRSS / 1024;
console.log(JSON.stringify({ recordingsPerS, cpuMsEach, peakMb, rowCount: replicates * plan.settings.length }));

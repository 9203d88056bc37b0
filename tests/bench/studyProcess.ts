/** One run of a study in a process of its own, for studies.ts. Arguments: worker threads, replicates. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { driveStudy } from '../../src/study/drive.ts';
import { studyFolder } from '../../src/study/engines/studyFolder.ts';
import { threadsEngine } from '../../src/study/engines/threads.ts';
import { planStudy } from '../../src/study/plan.ts';

const [workers, replicates] = process.argv.slice(2).map(Number);
const plan = planStudy({
  version: 1,
  id: 'bench',
  question: 'How fast?',
  scenarios: [{ id: 'clencher', scenario: 'jaw-clencher', set: { 'session.durationS': 60 } }],
  strategies: [
    { strategy: 'plain-mean' },
    { strategy: 'threshold-rejection' },
    { strategy: 'kalman' },
    { strategy: 'block-weighting', parameters: { blockLength: [8, 32, 128] } },
  ],
  replicates,
  measures: ['residual-noise'],
});
const path = mkdtempSync(join(tmpdir(), 'sweepwise-bench-'));
const folder = studyFolder(join(path, 'results'), plan, 'bench');
const engine = threadsEngine(workers);
const signal = new AbortController().signal;

/** Milliseconds at which so many recordings were there: the first of each thread is for warming up. */
const marks: { done: number; atMs: number }[] = [];
await driveStudy({
  store: folder,
  engine,
  signal,
  note: () => {},
  progress: ({ madeNow }) => marks.push({ done: madeNow, atMs: performance.now() }),
});
await engine.close();
rmSync(path, { recursive: true });
const warm = marks.find(({ done }) => done >= workers * plan.blockReplicates) ?? marks[0];
const last = marks[marks.length - 1];
const recordingsPerS = (1000 * (last.done - warm.done)) / (last.atMs - warm.atMs);
const peakMb = process.resourceUsage().maxRSS / 1024;
console.log(JSON.stringify({ recordingsPerS, peakMb, rowCount: replicates * plan.settings.length }));

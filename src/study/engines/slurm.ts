import { chmodSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { backgroundsOf } from '../backgrounds.ts';
import type { Block } from '../block.ts';
import type { StudyState } from '../drive.ts';
import { rowsOfBlock } from '../runBlock.ts';
import { StudyError } from '../studyError.ts';
import { bytesOf } from './openPlan.ts';
import { makeFolder, onDisk, type StudyFolder, writeWhole } from './studyFolder.ts';

/** What the script asks of the cluster. */
export interface SlurmOrder {
  /** Tasks of the array; each runs every n-th block. */
  taskCount: number;
  /** Longest time of a task, as Slurm writes it: `01:00:00`. */
  time: string;
  partition: string | null;
}

const bin = fileURLToPath(new URL('../../cli/bin.mjs', import.meta.url));

/**
 * Writes an array script for the blocks of the open round that are missing, and the list that its tasks share.
 *
 * The folder must lie on a disk that all nodes see, and so must the program. Run it again after the array has ended:
 * what is still missing makes the next script, and a round that is complete opens the one after it.
 *
 * @returns path of the script
 */
export function writeSlurmScript(folder: StudyFolder, { missing, round }: StudyState, order: SlurmOrder): string {
  const place = resolve(folder.path);
  const scripts = join(place, 'slurm');
  onDisk(scripts, () => makeFolder(scripts));
  const taskCount = Math.min(order.taskCount, missing.length);
  const list = join(scripts, 'missing.jsonl');
  const script = join(scripts, 'blocks.sh');
  writeWhole(list, missing.map((block) => `${JSON.stringify(block)}\n`).join(''));
  const task = ['study', 'block', place, '--list', list, '--of', String(taskCount), '--task'];
  const lines = [
    '#!/bin/bash',
    `# Study ${folder.plan.study.id} (${folder.plan.hash}), ${round}: ${missing.length} blocks. Written by "study slurm".`,
    `#SBATCH --job-name=sweepwise-${folder.plan.study.id}`,
    `#SBATCH --array=0-${taskCount - 1}`,
    '#SBATCH --ntasks=1',
    '#SBATCH --cpus-per-task=1',
    `#SBATCH --time=${order.time}`,
    ...(order.partition === null ? [] : [`#SBATCH --partition=${order.partition}`]),
    `#SBATCH --output="${scripts}/task-%a.log"`,
    'set -euo pipefail',
    `exec ${[process.execPath, bin, ...task].map(shellQuoted).join(' ')} "$SLURM_ARRAY_TASK_ID"`,
  ];
  writeWhole(script, `${lines.join('\n')}\n`);
  onDisk(script, () => chmodSync(script, 0o755));
  return script;
}

/**
 * Runs the share of one task: blocks task, task + n, task + 2n … of a list, those that are there already left out.
 *
 * @returns blocks run   @throws {StudyError} for a list of another study
 */
export function runShare(folder: StudyFolder, listPath: string, task: number, taskCount: number): number {
  const { plan, version } = folder;
  const backgrounds = backgroundsOf(plan, bytesOf);
  const blocks = readList(listPath).filter((_, k) => k % taskCount === task);
  let done = 0;
  for (const block of blocks) {
    if (folder.has(block)) continue;
    folder.store(block, rowsOfBlock(plan, block, version, backgrounds));
    done++;
  }
  return done;
}

function readList(path: string): Block[] {
  try {
    const lines = readFileSync(path, 'utf8').split('\n');
    return lines.filter((line) => line !== '').map((line) => JSON.parse(line) as Block);
  } catch (error) {
    throw new StudyError(`--list: ${path} must be a list that "study slurm" wrote, got ${(error as Error).message}`);
  }
}

function shellQuoted(word: string): string {
  return /^[\w./:=-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`;
}

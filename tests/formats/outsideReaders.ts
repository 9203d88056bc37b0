import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { firstOnPath, installPackages } from '../debianPackages.ts';

const edflibScript = fileURLToPath(new URL('edflib.py', import.meta.url));

/** What EDFlib found in a file. */
export interface EdflibReading {
  /** 1: EDF+, 3: BDF+. */
  fileType: number;
  recordCount: number;
  equipment: string;
  additional: string;
  signals: {
    label: string;
    sampleCount: number;
    dimension: string;
    prefilter: string;
    sampleRateHz: number;
    samplesUv: number[];
  }[];
  /** [onset s, duration s, text] */
  annotations: [number, number | null, string][];
}

/** Finds the two readers that are not ours, EDFlib and BioSig, or installs them. @throws {Error} naming the packages */
export function needOutsideReaders(): void {
  if (firstOnPath(['save2gdf']) && firstOnPath(['python3']) && hasEdflib()) return;
  const packages = ['libedf1', 'biosig-tools', 'python3'];
  installPackages(
    packages,
    'The tests of written recordings need EDFlib and BioSig and this machine lacks one',
    `install ${packages.join(', ')} (Debian), so that readers of others judge what we write`,
  );
}

/** Reads a file with EDFlib. @throws {Error} with its code if it refuses the file */
export function readWithEdflib(path: string, shownSamples: number): EdflibReading {
  const { status, stdout, stderr } = spawnSync('python3', [edflibScript, path, String(shownSamples)], {
    encoding: 'utf8',
    maxBuffer: 1 << 28,
  });
  if (status !== 0) throw new Error(`EDFlib refuses ${path}: ${stdout}${stderr}`);
  return JSON.parse(stdout);
}

/** Reads a file with BioSig: header and events, and the samples of each channel. @throws {Error} if it complains */
export function readWithBiosig(path: string): { header: BiosigHeader; channelsUv: Float64Array[] } {
  const folder = mkdtempSync(join(tmpdir(), 'sweepwise-biosig-'));
  try {
    const told = spawnSync('save2gdf', ['-JSON', path], { encoding: 'utf8', maxBuffer: 1 << 28 });
    const json = told.stdout.slice(told.stdout.indexOf('{'));
    if (told.status !== 0 || json === '') throw new Error(`BioSig refuses ${path}: ${told.stdout}${told.stderr}`);
    const header = JSON.parse(json) as BiosigHeader;
    const text = join(folder, 'text');
    const written = spawnSync('save2gdf', ['-f=ASCII', path, text], { encoding: 'utf8' });
    if (written.status !== 0) throw new Error(`BioSig cannot convert ${path}: ${written.stderr}`);
    const signalCount = header.CHANNEL.filter(({ PhysicalUnit }) => PhysicalUnit?.endsWith('V')).length;
    const channelsUv = Array.from({ length: signalCount }, (_, c) =>
      Float64Array.from(
        readFileSync(`${text}.a0${c + 1}`, 'utf8')
          .trim()
          .split('\n'),
        Number,
      ),
    );
    return { header, channelsUv };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** The part of BioSig's report that is looked at. */
export interface BiosigHeader {
  TYPE: string;
  Samplingrate: number;
  CHANNEL: { Label: string; PhysicalUnit?: string }[];
  EVENT?: { POS: number; DUR: number; Description: string }[];
}

/** Calls with a folder that is taken away afterwards, and the files in it. */
export function withFiles<T>(files: Readonly<Record<string, Uint8Array>>, use: (folder: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'sweepwise-files-'));
  try {
    for (const [name, bytes] of Object.entries(files)) writeFileSync(join(folder, name), bytes);
    return use(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function hasEdflib(): boolean {
  return spawnSync('python3', ['-c', 'import ctypes; ctypes.CDLL("libedf.so.1")']).status === 0;
}

import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { implantRun } from '../../src/core/session/implant.ts';
import { lanesOf } from '../../src/core/session/lanes.ts';
import { readRecording, selectChannels } from '../../src/formats/index.ts';
import { compareSettings } from '../../src/study/comparisons.ts';
import { patientOf, replicateSeed } from '../../src/study/conditions.ts';
import { driveStudy, gatherBlocks } from '../../src/study/drive.ts';
import { inProcessEngine } from '../../src/study/engines/inProcess.ts';
import { loadStudy } from '../../src/study/engines/loadStudy.ts';
import { studyFolder } from '../../src/study/engines/studyFolder.ts';
import type { Gathered } from '../../src/study/gathered.ts';
import { valuesOfMeasure } from '../../src/study/gathered.ts';
import { studyMeasure } from '../../src/study/measures.ts';
import { conditionNumbers, type StudyPlan } from '../../src/study/plan.ts';
import { scratchFolder, studyFile } from './engines/resultFolder.ts';

const data = fileURLToPath(new URL('../../../shared/data/auditory-oddball/', import.meta.url));
const files = [1, 2, 3].map((run) => `${data}run-${run}.csv.gz`);
const folder = scratchFolder('real');

/** A cortical response in the EEG of a person who blinks, at the ear electrode: three recordings, two minutes each. */
const study = `version: 1
id: implanted
question: Where does the threshold belong for a cortical response in a real recording?
scenarios:
  - id: oddball
    set: { response.kind: cortical, session.durationS: 60 }
    background: { files: [${files.join(', ')}], channel: TP10 }
strategies:
  - strategy: plain-mean
  - strategy: threshold-rejection
    parameters: { thresholdUv: [10, 40, 75, 1000] }
replicates: 12
measures: [residual-noise, used-share, gain]
`;

describe('a study of a known response in real EEG (A. Barachant, auditory oddball, BSD-3-Clause)', () => {
  let plan: StudyPlan;
  let gathered: Gathered;
  beforeAll(async () => {
    plan = await loadStudy(studyFile(folder, 'study.yaml', study));
    const store = studyFolder(`${folder}/results`, plan, '0.1.0+test');
    const { signal } = new AbortController();
    const state = await driveStudy({ store, engine: inProcessEngine(), signal, progress: () => {}, note: () => {} });
    gathered = gatherBlocks(store, state.blocks);
  });
  const values = (setting: number, measure: string) =>
    valuesOfMeasure(gathered.cell(0, setting), studyMeasure(measure));

  it('has the noise and gain that the implant of the same patient has by itself', () => {
    const replicate = 5;
    const seed = replicateSeed(plan.study, 'train', replicate);
    const { scenario } = patientOf(plan.conditions[0], replicateSeed(plan.study, 'train', 0), replicate);
    const backgrounds = files.map((file) => {
      const recording = readRecording(file, readFileSync(file));
      const [{ samplesUv, sampleRateHz }] = selectChannels(recording, 'TP10');
      return { samplesUv, sampleRateHz, missing: recording.missing };
    });
    const steps = implantRun(backgrounds, scenario, seed, lanesOf(scenario).slice(0, 1));
    let step = steps.next();
    while (!step.done) step = steps.next();
    const [plain] = step.value.lanes;
    expect(plain.strategy).toBe('plain-mean');
    expect(values(0, 'residual-noise')[replicate]).toBeCloseTo(1000 * plain.residualNoiseUv, 6);
    expect(values(0, 'gain')[replicate]).toBeCloseTo(plain.amplitudeGain, 9);
  });

  it('takes another stretch of the recordings for every patient', () => {
    expect(new Set(values(0, 'residual-noise')).size).toBe(12);
  });

  it('gives the U of thresholds: few sweeps pass 10 µV, all pass 1000 µV, and the least noise lies between', () => {
    const [tight, , , loose] = [1, 2, 3, 4].map((setting) => values(setting, 'used-share'));
    expect(Math.max(...tight)).toBeLessThan(0.5);
    expect(Math.min(...loose)).toBe(1);
    expect(values(4, 'residual-noise')).toEqual(values(0, 'residual-noise'));
    // The person blinks: 75 µV at the ear leaves the blinks out. Paired, with the interval of the study itself.
    const train = conditionNumbers(plan, 'train');
    const compared = compareSettings(plan, gathered, studyMeasure('residual-noise'), 'train', train, [2, 3]);
    expect(Math.min(...compared.map(({ effect }) => effect.high))).toBeLessThan(1);
  });
});

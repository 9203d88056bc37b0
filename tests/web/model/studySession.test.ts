import { describe, expect, it } from 'vitest';
import { inProcessEngine } from '../../../src/study/engines/inProcess.ts';
import { readResults } from '../../../src/study/resultsFile.ts';
import { StudySession, type StudyTools } from '../../../src/web/model/studySession.ts';
import { smallPlan } from '../../study/small.ts';

const told: { count: number; finished: boolean }[] = [];
const tools: StudyTools = {
  engine: () => inProcessEngine(),
  async report({ entries, finished }) {
    told.push({ count: entries.length, finished });
    return { body: '', page: '', summaryCsv: '' };
  },
};
/** Two rounds: three blocks, then three sealed ones. */
const { study } = smallPlan({ test: '[{ id: sealed, set: { session.durationS: 4 } }]' });

describe('a study in the memory of the page', () => {
  it('stops in the middle, is saved, opened elsewhere and gone on with, to the same rows', async () => {
    const whole = new StudySession(tools, 'lab');
    whole.take({ study, files: [] });
    await whole.run();
    expect(whole.stage).toBe('finished');

    const first = new StudySession(tools, 'lab');
    first.take({ study, files: [] });
    first.subscribe(() => {
      if (first.stage === 'running' && first.progress?.doneInRound === 4) first.stop();
    });
    await first.run();
    expect([first.stage, first.progress]).toMatchObject(['stopped', { doneInRound: 4, inRound: 6 }]);
    expect(told.at(-1)).toEqual({ count: 2, finished: false });

    const second = new StudySession(tools, 'lab');
    await second.open(readResults('results.jsonl', await first.resultsFile()));
    expect([second.stage, second.canRun]).toEqual(['stopped', true]);
    await second.run();
    expect(told.at(-1)).toEqual({ count: 6, finished: true });
    expect(await second.rowsCsv()).toBe(await whole.rowsCsv());
    expect(await second.resultsFile()).toBe(await whole.resultsFile());
  });

  it('keeps its rows when the same study is taken again, and lets go of them for another', async () => {
    const session = new StudySession(tools, 'lab');
    session.take({ study, files: [] });
    await session.run();
    session.take({ study: { ...study, answer: 'Now it is known.' }, files: [] });
    expect([session.stage, session.hasRows]).toEqual(['finished', true]);
    session.take({ study: { ...study, seed: '2' }, files: [] });
    expect([session.stage, session.hasRows]).toEqual(['ready', false]);
  });

  it('reads rows of another version and adds none; refuses rows of another study', async () => {
    const session = new StudySession(tools, 'older');
    session.take({ study, files: [] });
    await session.run();
    const text = await session.resultsFile();
    const lab = new StudySession(tools, 'lab');
    await lab.open(readResults('results.jsonl', text));
    expect([lab.stage, lab.canRun]).toEqual(['finished', false]);
    expect(lab.whyNot).toContain('of version older, this lab is lab');
    const hash = lab.plan?.hash as string;
    const foreign = text.replace(`"study":"${hash}"`, '"study":"0123456789ab"');
    await expect(lab.open(readResults('results.jsonl', foreign))).rejects.toThrow(
      `results: must all be of study ${hash}, version older, got others among them`,
    );
    expect(lab.stage).toBe('finished'); // what was there stays
  });

  it('leaves strategies from files to the terminal', () => {
    const session = new StudySession(tools, 'lab');
    const file = { kind: 'strategy', name: './mine.ts', path: './mine.ts', hash: '' } as const;
    expect(() => session.take({ study, files: [file] })).toThrow(
      'strategies: ./mine.ts runs in the terminal only (sweepwise study run); its results open here',
    );
  });
});

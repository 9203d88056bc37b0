import { describe, expect, it } from 'vitest';
import { planStudy } from '../../src/study/plan.ts';
import { atLine, readStudy } from '../../src/study/readStudy.ts';
import { StudyError } from '../../src/study/studyError.ts';
import { smallStudy } from './small.ts';

function refusal(text: string): string {
  try {
    try {
      planStudy(readStudy('x.yaml', text));
    } catch (error) {
      if (error instanceof StudyError && !error.message.startsWith('x.yaml')) throw atLine('x.yaml', text, error);
      throw error;
    }
  } catch (error) {
    expect(error).toBeInstanceOf(StudyError);
    return (error as Error).message;
  }
  throw new Error('refusal: the study must be refused, got a plan');
}

const strategies = (parameters: string) => ({
  strategies: `[{ strategy: block-weighting, parameters: ${parameters} }]`,
});

// what is wrong, the refusal
const cases: [Record<string, string>, string][] = [
  [{ replicats: '3' }, 'line 12: replicats: unknown key; known here: version, id, question, answer, seed, scenarios'],
  [{ version: '2' }, 'line 1: version: must be 1, got 2'],
  [{ question: '' }, 'line 1: question: must be given, got nothing'],
  [{ replicates: '0' }, 'line 9: replicates: must be a whole number, or from, to and until, got 0'],
  [{ replicates: '{ from: 3 }' }, 'line 9: replicates.to: must be given, got nothing'],
  [{ measures: '[noise]' }, 'line 11: measures.0: must be one of residual-noise, seconds-to-target'],
  [{ measures: '[]' }, 'line 11: measures: must be a list of 1 to 20 measures, got []'],
  [{ strategies: '[]' }, 'line 6: strategies: must be a list of 1 to 200 strategies, got []'],
  [{ strategies: '[{ strategy: median }]' }, 'strategies.0.strategy: unknown averaging strategy "median"; one of'],
  [strategies('{ blocks: 3 }'), 'strategies.0.parameters.blocks: unknown parameter; known here: blockLength'],
  [
    strategies('{ blockLength: [] }'),
    'strategies.0.parameters.blockLength: must be a list of 1 to 1000 values, got []',
  ],
  [strategies('{ blockLength: 1 }'), 'parameters.blockLength: must be a whole number from 2 to 4096 sweeps, got 1'],
  [strategies('{ blockLength: 4.5 }'), 'parameters.blockLength: must be a whole number from 2 to 4096 sweeps, got 4.5'],
  [strategies('{ blockLength: { from: 9, to: 3 } }'), 'blockLength: from must be below to, got 9 and 3'],
  [strategies('{ blockLength: { from: 0, to: 3, scale: log } }'), 'blockLength.from: must be > 0 for scale log, got 0'],
  [{ scenarios: '[{ id: a, scenario: nobody }]' }, 'scenarios.0: unknown scenario "nobody"; one of quiet-sleeper'],
  [{ scenarios: '[{ id: a, sets: {} }]' }, 'scenarios.0.sets: unknown key; known here: id, scenario, set, draw'],
  [{ scenarios: '[{ id: a }, { id: a }]' }, 'scenarios: names must differ, got a twice'],
  [{ scenarios: '[{ id: a, set: { muscle.x: 1 } }]' }, 'scenarios.0: muscle.x: unknown key; known here: burstsPerS'],
  [
    { scenarios: '[{ id: a, draw: { muscle.x: { uniform: [1, 2] } } }]' },
    'must be a key of the scenario, got muscle.x',
  ],
  [{ scenarios: '[{ id: a, draw: { muscle.burstUv: { uniform: [2, 1] } } }]' }, 'must be two rising numbers, got 2, 1'],
  [{ scenarios: '[{ id: a, draw: { muscle.burstUv: { flat: [2, 1] } } }]' }, 'one of uniform, logUniform, normal'],
  [{ vary: '{ muscle.durationS: [0.1, 99] }' }, 'scenarios.0 muscle.durationS=99: muscle.durationS: must be a number'],
  [{ vary: '{ muscle.durationS: [] }' }, 'vary.muscle.durationS: must be a list of 1 to 1000 values, got []'],
  [{ reference: 'nobody' }, 'reference: must be one of plain-mean, block-weighting blockLength=4'],
  [{ budget: '{ recordings: 5 }' }, 'budget.recordings: must be at least 6 (1 conditions × 6 replicates), got 5'],
  [
    { search: '{ kind: random }' },
    'search.kind: must be one of grid, latin-hypercube, successive-halving, got "random"',
  ],
  [{ search: '{ kind: successive-halving }' }, 'search.keepOneIn: must be given, got nothing'],
  [{ choose: '{ measure: luck }' }, 'choose.measure: must be one of residual-noise'],
];

describe('a study that cannot be is refused with file, line, key, rule and value', () => {
  it.each(cases)('%j', (more, expected) => {
    const message = refusal(smallStudy(more));
    expect(message).toMatch(/^x\.yaml: line \d+: /);
    expect(message).toContain(expected);
    expect(message).not.toContain('\n');
  });

  it('names the line of a syntax error, and refuses what is no document', () => {
    expect(refusal('version: 1\nid: [a\nquestion: b\n')).toMatch(/^x\.yaml: line \d: /);
    expect(refusal('- a')).toBe('x.yaml: must hold a study, got a list');
    expect(refusal('')).toBe('x.yaml: must hold a study, got nothing');
    expect(refusal('version: 1\nversion: 1\n')).toContain('line 2');
  });

  it('points at the key, wherever it stands', () => {
    const text = smallStudy({ scenarios: '\n  - id: a\n    set:\n      muscle.durationS: 0.2\n      muscle.x: 3' });
    expect(refusal(text)).toContain('x.yaml: line 5: scenarios.0');
    const deeper = smallStudy({ strategies: '\n  - strategy: block-weighting\n    parameters:\n      blockLength: 1' });
    expect(refusal(deeper)).toContain('line 9: strategies.0.parameters.blockLength');
  });
});

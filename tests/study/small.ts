import { planStudy, type StudyPlan } from '../../src/study/plan.ts';
import { readStudy } from '../../src/study/readStudy.ts';

/** Keys that make a recording cheap: 4 s at 2 kHz takes about 10 ms. */
export const CHEAP =
  '{ session.durationS: 4, converter.sampleRateHz: 2000, filter.lowPassHz: 900, muscle.burstsPerS: 1, muscle.durationS: 0.2 }';

/** A small study; `more` replaces or adds keys. */
export function smallStudy(more: Record<string, string> = {}): string {
  const keys: Record<string, string> = {
    version: '1',
    id: 'small',
    question: 'Which one?',
    scenarios: `\n  - { id: clencher, scenario: jaw-clencher, set: ${CHEAP} }`,
    strategies:
      '\n  - { strategy: plain-mean }\n  - { strategy: block-weighting, parameters: { blockLength: [4, 16] } }',
    replicates: '6',
    blockReplicates: '2',
    measures: '[residual-noise, seconds-to-target, gain]',
    ...more,
  };
  return Object.entries(keys)
    .filter(([, value]) => value !== '')
    .map(([key, value]) => `${key}: ${value}\n`)
    .join('');
}

/** The plan of a small study. */
export function smallPlan(more: Record<string, string> = {}): StudyPlan {
  return planStudy(readStudy('small.yaml', smallStudy(more)));
}

import { planStudy, type StudyPlan } from '../../src/study/plan.ts';

/** The study that the bench runs: the jaw clencher for a minute, six settings. */
export function benchPlan(replicates: number): StudyPlan {
  return planStudy({
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
}

import type { Findings } from './findings.ts';

const LIMIT = 4; // standard errors
const RELATIVE_FLOOR = 0.002; // two runs that hardly scatter may still differ by the interpolation of the template

/**
 * Compares what two programs found, each over a few seeds: one line for each figure.
 *
 * The two draw different random numbers, so a figure agrees if the means differ by less than four standard errors of
 * their difference. Noise is compared by its logarithm: its scatter is a share of its size.
 */
export function agreement(ours: Findings[], peers: Findings[]): string[] {
  const figures: [string, (findings: Findings) => number][] = [
    ['noise of a quiet sweep, µV rms', ({ quietNoiseUv }) => quietNoiseUv],
    ['share of loud sweeps', ({ loudShare }) => loudShare],
    ['noise-free response, µV rms', ({ responseUv }) => responseUv],
    ...Object.keys(ours[0].residualNoiseUv).map((id): [string, (findings: Findings) => number] => [
      `residual noise, ${id}, µV rms`,
      ({ residualNoiseUv }) => residualNoiseUv[id],
    ]),
  ];
  return figures.map(([name, figure]) => {
    const a = summary(ours.map((findings) => Math.log(figure(findings))));
    const b = summary(peers.map((findings) => Math.log(figure(findings))));
    const error = Math.sqrt(a.squaredError + b.squaredError + RELATIVE_FLOOR * RELATIVE_FLOOR);
    const distance = (a.mean - b.mean) / error;
    const agrees = Math.abs(distance) < LIMIT;
    const pair = `${Math.exp(a.mean).toPrecision(3).padEnd(8)} ${Math.exp(b.mean).toPrecision(3).padEnd(8)}`;
    return `  ${name.padEnd(44)} ${pair} ${distance.toFixed(1).padStart(5)} standard errors${agrees ? '' : '  DIFFERENT'}`;
  });
}

function summary(values: number[]): { mean: number; squaredError: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { mean, squaredError: squares / (values.length - 1) / values.length };
}

import { describe, expect, it } from 'vitest';
import { meanOf } from '../../src/core/quality/replicates.ts';
import { SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, lane, noiseRatio, noiseAcross } = textbookRun('slow-tide');

/** Size and place of the true wave V in a run; alike for all patients up to jitter. */
function trueWaveV(run: string) {
  const [{ peaks, figures }] = lane(run, 'block-weighting').readings;
  return {
    sizeUv: figures.find(({ name }) => name === 'V–SN')?.truth ?? NaN,
    latencyMs: peaks.find(({ name }) => name === 'V')?.truthMs ?? NaN,
  };
}

describe('The slow tide', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(85);
  });

  it('the tide left in, few sweeps take over and blocks are worse than no weights', () => {
    expect(meanOf(lane('raw', 'template-weighting').effectiveShare, [0, 1, 2, 3])).toBeLessThan(0.3);
    expect(noiseRatio('raw', 'block-weighting', 'plain-mean').value).toBeGreaterThan(1);
  });

  it('a line off every sweep brings blocks near a cool day, the level alone does not, by 3 standard errors', () => {
    const line = noiseAcross(['detrended', 'block-weighting'], ['cool', 'block-weighting']);
    expect(line.value).toBeLessThan(1.6);
    const level = noiseAcross(['levelled', 'block-weighting'], ['detrended', 'block-weighting']);
    expect(level.value - 3 * level.error).toBeGreaterThan(1);
    expect(noiseAcross(['raw', 'block-weighting'], ['detrended', 'block-weighting']).value).toBeGreaterThan(20);
  });

  it('the line leaves wave V whole and in place; 100 Hz takes a quarter and shifts it; zero-phase takes some', () => {
    const cool = trueWaveV('cool');
    const line = trueWaveV('detrended');
    expect(line.sizeUv / cool.sizeUv).toBeGreaterThan(0.96);
    expect(Math.abs(line.latencyMs - cool.latencyMs)).toBeLessThan(0.03);
    const high = trueWaveV('corner-100');
    expect(high.sizeUv / cool.sizeUv).toBeLessThan(0.75);
    expect(cool.latencyMs - high.latencyMs).toBeGreaterThan(0.2);
    expect(trueWaveV('zero-phase-30').sizeUv / cool.sizeUv).toBeLessThan(0.95);
  });
});

import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { backgroundNoise, type RecordedBackground } from '../../../src/core/session/background.ts';

const scenario = resolveScenario({
  session: { durationS: 4 },
  converter: { sampleRateHz: 1000 },
  filter: { lowPassHz: 100, highPassHz: 5 },
  muscle: { lowHz: 20, highHz: 100 },
});

function tone(hz: number, seconds: number, sampleRateHz: number): RecordedBackground {
  const samplesUv = Float64Array.from({ length: seconds * sampleRateHz }, (_, i) =>
    Math.sin((2 * Math.PI * hz * i) / sampleRateHz),
  );
  return { samplesUv, sampleRateHz };
}

function played(recordings: RecordedBackground[], seed: string, block = 250): Float64Array {
  const noise = backgroundNoise(recordings, scenario, seed);
  const out = new Float64Array(4000);
  for (let start = 0; start < 4000; start += block) {
    const channels = [new Float64Array(block), new Float64Array(block)];
    noise.addUv(channels, start, Math.min(block, 4000 - start));
    out.set(channels[0].subarray(0, Math.min(block, 4000 - start)), start);
    expect(channels[1]).toEqual(channels[0]);
  }
  return out;
}

/** Size of one frequency in 1 s, and what is left beside it. */
function toneIn(uv: Float64Array, hz: number): { size: number; restUv: number } {
  let [c, s] = [0, 0];
  for (let i = 0; i < 1000; i++) {
    c += (2 / 1000) * uv[1000 + i] * Math.cos((2 * Math.PI * hz * i) / 1000);
    s += (2 / 1000) * uv[1000 + i] * Math.sin((2 * Math.PI * hz * i) / 1000);
  }
  let rest = 0;
  for (let i = 0; i < 1000; i++) {
    const fitted = c * Math.cos((2 * Math.PI * hz * i) / 1000) + s * Math.sin((2 * Math.PI * hz * i) / 1000);
    rest += (uv[1000 + i] - fitted) * (uv[1000 + i] - fitted);
  }
  return { size: Math.hypot(c, s), restUv: Math.sqrt(rest / 1000) };
}

describe('backgroundNoise', () => {
  it.each([256, 500, 1000, 4000])('keeps a tone of 20 Hz that was recorded at %d Hz', (rate) => {
    const { size, restUv } = toneIn(played([tone(20, 30, rate)], '1'), 20);
    expect(Math.abs(size - 1)).toBeLessThan(0.002);
    expect(restUv).toBeLessThan(0.002);
  });

  it('lets nothing fold back from above half the new sampling rate', () => {
    expect(toneIn(played([tone(1020, 30, 4000)], '1'), 20).size).toBeLessThan(0.005);
  });

  it('takes a stretch by the seed, the same in blocks of any size', () => {
    const recordings = [tone(20, 30, 256), tone(33, 30, 256)];
    expect(played(recordings, '1', 37)).toEqual(played(recordings, '1'));
    expect(played(recordings, '2')).not.toEqual(played(recordings, '1'));
  });

  it('avoids gaps, and refuses where no stretch is long enough', () => {
    const late = { ...tone(20, 30, 256), missing: [{ startS: 0, endS: 20 }] };
    late.samplesUv.fill(1000, 0, 20 * 256);
    for (const seed of ['1', '2', '3', '4', '5']) {
      expect(Math.max(...played([late], seed))).toBeLessThan(500);
    }
    const rule = /a recording must hold the whole session \(\d\.\d s\) without a gap, got 3\.0 s at most/;
    expect(() => backgroundNoise([tone(20, 3, 256)], scenario, '1')).toThrow(rule);
    const torn = {
      ...tone(20, 30, 256),
      missing: [
        { startS: 3, endS: 4 },
        { startS: 8, endS: 9 },
        { startS: 13, endS: 30 },
      ],
    };
    expect(() => backgroundNoise([torn], scenario, '1')).toThrow('without a gap');
  });

  it('refuses samples that are no numbers', () => {
    const broken = tone(20, 30, 256);
    broken.samplesUv.fill(NaN);
    expect(() => backgroundNoise([broken], scenario, '1')).toThrow('samples must be numbers, got a mean of NaN µV');
  });
});

import { describe, expect, it } from 'vitest';
import { channelGain, type ElectrodeSite, relativeGain } from '../../../src/core/noise/electrodeSite.ts';
import { muscle } from '../../../src/core/noise/muscle.ts';
import { swallow } from '../../../src/core/noise/swallow.ts';
import { playNoise } from './playNoise.ts';

const sites: ElectrodeSite[] = ['mastoid', 'earlobe', 'canal', 'neck', 'infra-orbital'];

describe('channelGain', () => {
  const cases = [
    // source, site, gain, why
    ['clench', 'mastoid', -0.6, 'vertex 0.4 less mastoid 1'],
    ['clench', 'canal', -0.8, 'nearer to the jaw joint'],
    ['swallow', 'mastoid', -0.8, 'hardly anything at the vertex'],
    ['neck', 'neck', 3, 'on the muscle, the breastbone is silent'],
    ['brow', 'infra-orbital', 2, 'next to the forehead'],
    ['brow', 'mastoid', 0.3, 'larger at the vertex than behind the ear'],
    ['eye', 'neck', 0, 'out of reach'],
    ['reflex', 'mastoid', -1, 'the muscle lies under the electrode'],
    ['reflex', 'earlobe', -0.1, 'the remedy: ten times smaller at the lobe'],
    ['heart', 'mastoid', 1, 'its size is stated there'],
  ] as const;
  it.each(cases)('%s at %s: %f (%s)', (source, site, gain) => {
    expect(channelGain(source, site)).toBeCloseTo(gain, 12);
  });

  it('is 1 at the mastoid where a size is stated there', () => {
    expect(relativeGain('clench', 'mastoid')).toBe(1);
    expect(relativeGain('clench', 'canal')).toBeCloseTo(4 / 3, 12);
  });
});

describe('the site in a recording', () => {
  const play = (source: typeof swallow, site: ElectrodeSite) =>
    playNoise(
      source,
      { response: { kind: 'none' }, montage: { site }, muscle: { burstsPerS: 2 }, swallow: { burstsPerS: 2 } },
      32_000,
    )[0];

  it.each(sites)('changes the size of a swallow at the %s, not its course', (site) => {
    const ratio = channelGain('swallow', site) / channelGain('swallow', 'mastoid');
    const here = play(swallow, site);
    const there = play(swallow, 'mastoid');
    expect(Math.max(...here.map((value, i) => Math.abs(value - ratio * there[i])))).toBeLessThan(1e-9);
  });

  it('leaves clenches at the mastoid as they were before there were sites', () => {
    expect(play(muscle, 'mastoid').some((value) => value !== 0)).toBe(true);
    const ratio = relativeGain('clench', 'neck');
    const there = play(muscle, 'mastoid');
    const here = play(muscle, 'neck');
    expect(Math.max(...here.map((value, i) => Math.abs(value - ratio * there[i])))).toBeLessThan(1e-9);
  });
});

import type { Scenario } from '../scenario/schema.ts';

/** Places of the paired electrode; its partner is the vertex, for the neck the breastbone, under the eye the chin. */
export type ElectrodeSite = Scenario['montage']['site'];

/** Generators that reach electrodes near and far with different size. */
export type BodySource = 'clench' | 'swallow' | 'neck' | 'brow' | 'eye' | 'sucking' | 'reflex' | 'heart';

// Size at each electrode relative to the source's nominal size. Model values: our choice, no source.
const GAINS: Record<BodySource, Record<ElectrodeSite | 'vertex', number>> = {
  clench: { mastoid: 1, vertex: 0.4, earlobe: 0.9, canal: 1.2, neck: 0.2, 'infra-orbital': 0.5 },
  swallow: { mastoid: 1, vertex: 0.2, earlobe: 0.8, canal: 1, neck: 0.6, 'infra-orbital': 0.2 },
  neck: { mastoid: 1, vertex: 0.2, earlobe: 0.4, canal: 0.6, neck: 3, 'infra-orbital': 0.1 },
  brow: { mastoid: 0.2, vertex: 0.5, earlobe: 0.15, canal: 0.1, neck: 0, 'infra-orbital': 2 },
  eye: { mastoid: 0.05, vertex: 0.1, earlobe: 0.05, canal: 0, neck: 0, 'infra-orbital': 1.5 },
  sucking: { mastoid: 1, vertex: 0.3, earlobe: 0.9, canal: 1, neck: 0.2, 'infra-orbital': 0.3 },
  reflex: { mastoid: 1, vertex: 0, earlobe: 0.1, canal: 0.3, neck: 0.1, 'infra-orbital': 0.02 },
  heart: { mastoid: -0.5, vertex: 0.5, earlobe: -0.5, canal: -0.5, neck: 40, 'infra-orbital': 1 },
};

/**
 * Says how large a source of the body is in a channel, relative to its nominal size.
 *
 *     vertex − site     at the mastoid, the earlobe and in the ear canal: positive up at the vertex
 *     site              at the neck and under the eye
 *
 * Assumes one generator whose voltage reaches both electrodes with the same shape, so that it partly cancels in the
 * difference; breaks down where the two electrodes lie on different muscle fibres, whose activity adds in power. Breastbone
 * and chin are taken to be silent.
 *
 * @returns × nominal size, signed   @example channelGain('clench', 'mastoid') // -0.6
 */
export function channelGain(source: BodySource, site: ElectrodeSite): number {
  const gains = GAINS[source];
  return site === 'neck' || site === 'infra-orbital' ? gains[site] : gains.vertex - gains[site];
}

/** The gain relative to that at the mastoid, for sources whose size is stated there. @example relativeGain('clench', 'mastoid') // 1 */
export function relativeGain(source: BodySource, site: ElectrodeSite): number {
  return channelGain(source, site) / channelGain(source, 'mastoid');
}

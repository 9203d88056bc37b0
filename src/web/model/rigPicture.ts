import type { ElectrodeName } from '../../core/chain/contact.ts';
import type { Scenario } from '../../core/scenario/schema.ts';

/** A place on the drawing of the head, in its own units. */
interface Place {
  x: number;
  y: number;
}

/** What the electrodes are called where they are drawn. */
export const electrodeWords: Record<ElectrodeName, string> = {
  common: 'Shared',
  ipsilateral: 'Test side',
  contralateral: 'Other side',
  ground: 'Ground',
};

/** Bounds of the loop between the leads, m² per metre: those of the scenario. */
export const LOOP_RANGE = [0.0005, 0.3] as const;

const SITES: Record<Scenario['montage']['site'], Pick<Record<ElectrodeName, Place>, 'common' | 'ipsilateral'>> = {
  mastoid: { common: { x: 152, y: 42 }, ipsilateral: { x: 208, y: 186 } },
  earlobe: { common: { x: 152, y: 42 }, ipsilateral: { x: 184, y: 196 } },
  canal: { common: { x: 152, y: 42 }, ipsilateral: { x: 180, y: 170 } },
  neck: { common: { x: 126, y: 292 }, ipsilateral: { x: 190, y: 250 } },
  'infra-orbital': { common: { x: 84, y: 252 }, ipsilateral: { x: 86, y: 170 } },
};

/** Where the electrodes sit on the head that the page draws, facing left. */
export function electrodePlaces(site: Scenario['montage']['site']): Record<ElectrodeName, Place> {
  return { ...SITES[site], contralateral: { x: 236, y: 214 }, ground: { x: 84, y: 84 } };
}

/** How far the leads are drawn apart: the width goes with the root of the area. */
export function loopBulge(loopM2PerM: number): number {
  return 110 * Math.sqrt(loopM2PerM / LOOP_RANGE[1]);
}

/** Rooms with the usual sizes that the scenario names for them. */
export const rooms: readonly { label: string; set: Record<string, number> }[] = [
  { label: 'Screened', set: { 'room.bodyCurrentUa': 0, 'room.leadCurrentNaPerM': 0, 'room.fieldUt': 0 } },
  { label: 'Office', set: { 'room.bodyCurrentUa': 0.1, 'room.leadCurrentNaPerM': 1, 'room.fieldUt': 0.03 } },
  { label: 'Surgery', set: { 'room.bodyCurrentUa': 0.3, 'room.leadCurrentNaPerM': 3, 'room.fieldUt': 0.2 } },
  { label: 'Intensive care', set: { 'room.bodyCurrentUa': 0.5, 'room.leadCurrentNaPerM': 5, 'room.fieldUt': 1 } },
];

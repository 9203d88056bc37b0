import { type ElectrodeName, electrodeNames } from '../../core/chain/contact.ts';
import { contactsAt } from '../../core/scenario/plausibility.ts';
import { resolveScenario, withOverrides } from '../../core/scenario/resolve.ts';
import { sitesFor } from '../../core/scenario/responseRules.ts';
import type { Scenario } from '../../core/scenario/schema.ts';

/** A place on the drawing of the head, in its own units. */
export interface Place {
  x: number;
  y: number;
}

type Site = Scenario['montage']['site'];

/** New values of settings, by their paths. */
export type RigSettings = Readonly<Record<string, unknown>>;

/** What the electrodes are called where they are drawn. */
export const electrodeWords: Record<ElectrodeName, string> = {
  common: 'Shared',
  ipsilateral: 'Test side',
  contralateral: 'Other side',
  ground: 'Ground',
};

/** What the places are called. */
export const siteWords: Record<Site, string> = {
  mastoid: 'mastoid',
  earlobe: 'earlobe',
  canal: 'ear canal',
  neck: 'neck',
  'infra-orbital': 'below the eye',
};

/** Bounds of the loop between the leads, m² per metre, and of their length, m: those of the scenario. */
export const LOOP_RANGE = [0.0005, 0.3] as const;
export const LENGTH_RANGE = [0.05, 10] as const;

const SITES: Record<Site, Pick<Record<ElectrodeName, Place>, 'common' | 'ipsilateral'>> = {
  mastoid: { common: { x: 152, y: 42 }, ipsilateral: { x: 212, y: 192 } },
  earlobe: { common: { x: 152, y: 42 }, ipsilateral: { x: 182, y: 204 } },
  canal: { common: { x: 152, y: 42 }, ipsilateral: { x: 178, y: 166 } },
  neck: { common: { x: 126, y: 292 }, ipsilateral: { x: 190, y: 250 } },
  'infra-orbital': { common: { x: 84, y: 252 }, ipsilateral: { x: 86, y: 170 } },
};

/** Where a lead hangs whose electrode is off. */
const HANGING: Record<ElectrodeName, Place> = {
  common: { x: 268, y: 52 },
  ipsilateral: { x: 272, y: 122 },
  contralateral: { x: 268, y: 232 },
  ground: { x: 22, y: 70 },
};

/** The outline of the head, roughly, to tell skin from air. */
const HEAD: readonly Place[] = [
  [150, 40],
  [92, 62],
  [60, 140],
  [42, 202],
  [60, 226],
  [70, 258],
  [112, 264],
  [116, 304],
  [200, 304],
  [204, 250],
  [240, 190],
  [244, 136],
  [214, 62],
].map(([x, y]) => ({ x, y }));

const REACH = 20; // drawing units within which an electrode snaps to a place

/** Where the electrodes sit on the head that the page draws, facing left; one that is off hangs beside it. */
export function electrodePlaces({ montage, electrodes }: Scenario): Record<ElectrodeName, Place> {
  const home: Record<ElectrodeName, Place> = {
    ...SITES[montage.site],
    contralateral: { x: 236, y: 216 },
    ground: { x: 84, y: 84 },
  };
  const places = electrodeNames.map((name) => [name, electrodes[name].open ? HANGING[name] : home[name]]);
  return Object.fromEntries(places) as Record<ElectrodeName, Place>;
}

/** Places to which the electrode of the test side may go, for this response; none for another electrode. */
export function placesFor(name: ElectrodeName, scenario: Scenario): { site: Site; at: Place }[] {
  if (name !== 'ipsilateral') return [];
  return sitesFor(scenario.response.kind).map((site) => ({ site, at: SITES[site].ipsilateral }));
}

/** The settings that bring both ears' electrodes to a place, with the contact that is used there. */
export function moveTo(site: Site, { response, electrodes }: Scenario): RigSettings {
  const [usual] = contactsAt(site);
  const types = (['ipsilateral', 'contralateral'] as const).flatMap((name) =>
    response.kind === 'ecochg' || contactsAt(site).includes(electrodes[name].type)
      ? []
      : [[`electrodes.${name}.type`, usual] as const],
  );
  return { 'montage.site': site, 'electrodes.ipsilateral.open': false, ...Object.fromEntries(types) };
}

/** What an electrode that is let go of here means: another place, off, on again, or nothing. */
export function dropped(name: ElectrodeName, at: Place, scenario: Scenario): RigSettings {
  const { open } = scenario.electrodes[name];
  const near = placesFor(name, scenario)
    .map(({ site, at: place }) => ({ site, away: distance(at, place) }))
    .sort((a, b) => a.away - b.away)[0];
  if (near && near.away <= REACH) {
    return near.site === scenario.montage.site && !open ? {} : moveTo(near.site, scenario);
  }
  const off = !onHead(at) && distance(at, electrodePlaces(scenario)[name]) > REACH;
  if (off !== open && (off || onHead(at))) return { [`electrodes.${name}.open`]: off };
  return {};
}

function distance(a: Place, b: Place): number {
  return Math.hypot(a.x - b.x, a.y - b.y);
}

/** Whether a place lies on the skin: crossings of a ray with the outline. */
function onHead({ x, y }: Place): boolean {
  let inside = false;
  for (let k = 0, j = HEAD.length - 1; k < HEAD.length; j = k++) {
    const [a, b] = [HEAD[k], HEAD[j]];
    if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) inside = !inside;
  }
  return inside;
}

const BULGE = 110; // drawing units at the widest loop

/** How far the leads are drawn apart: the width goes with the root of the area. */
export function loopBulge(loopM2PerM: number): number {
  return BULGE * Math.sqrt(loopM2PerM / LOOP_RANGE[1]);
}

/** The loop that a bulge stands for, m² per metre, two digits. */
export function loopOf(bulge: number): number {
  return within(LOOP_RANGE, (Math.max(0, bulge) / BULGE) ** 2 * LOOP_RANGE[1]);
}

const BOX_X = [282, 402] as const; // where the box stands at the shortest and the longest leads
const BOX_Y = 250;

/** Where the box stands: farther with longer leads, each doubling by the same step. */
export function boxPlace(lengthM: number): Place {
  const share = Math.log(lengthM / LENGTH_RANGE[0]) / Math.log(LENGTH_RANGE[1] / LENGTH_RANGE[0]);
  return { x: BOX_X[0] + share * (BOX_X[1] - BOX_X[0]), y: BOX_Y };
}

/** The length of leads to a box that stands there, m, two digits. */
export function lengthOf(x: number): number {
  const share = (x - BOX_X[0]) / (BOX_X[1] - BOX_X[0]);
  return within(LENGTH_RANGE, LENGTH_RANGE[0] * (LENGTH_RANGE[1] / LENGTH_RANGE[0]) ** share);
}

/** A value within bounds, with the two digits that a hand can mean. */
export function within([low, high]: readonly [number, number], value: number): number {
  return Math.min(high, Math.max(low, Number(value.toPrecision(2))));
}

/** The scenario as it would be with some settings; as it is where they cannot be. */
export function tried(scenario: Scenario, settings: RigSettings): Scenario {
  if (Object.keys(settings).length === 0) return scenario;
  const assignments = Object.entries(settings).map(([path, value]) => `${path}=${JSON.stringify(value)}`);
  try {
    return resolveScenario(withOverrides(scenario, assignments));
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return scenario;
  }
}

/** Rooms with the usual sizes that the scenario names for them. */
export const rooms: readonly { label: string; set: Record<string, number> }[] = [
  { label: 'Screened', set: { 'room.bodyCurrentUa': 0, 'room.leadCurrentNaPerM': 0, 'room.fieldUt': 0 } },
  { label: 'Office', set: { 'room.bodyCurrentUa': 0.1, 'room.leadCurrentNaPerM': 1, 'room.fieldUt': 0.03 } },
  { label: 'Surgery', set: { 'room.bodyCurrentUa': 0.3, 'room.leadCurrentNaPerM': 3, 'room.fieldUt': 0.2 } },
  { label: 'Intensive care', set: { 'room.bodyCurrentUa': 0.5, 'room.leadCurrentNaPerM': 5, 'room.fieldUt': 1 } },
];

import { describe, expect, it } from 'vitest';
import { preset } from '../../../src/core/scenario/presets.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import {
  boxPlace,
  dropped,
  electrodePlaces,
  lengthOf,
  loopBulge,
  loopOf,
  moveTo,
  placesFor,
  tried,
} from '../../../src/web/model/rigPicture.ts';

const scenario = resolveScenario(preset('quiet-sleeper'));

describe('rigPicture', () => {
  it('draws what it reads: lengths and loops come back with two digits', () => {
    for (const lengthM of [0.05, 0.4, 1.2, 3, 10]) expect(lengthOf(boxPlace(lengthM).x)).toBe(lengthM);
    for (const loopM2PerM of [0.0005, 0.01, 0.05, 0.3]) expect(loopOf(loopBulge(loopM2PerM))).toBe(loopM2PerM);
    expect(lengthOf(-1000)).toBe(0.05);
    expect(loopOf(-5)).toBe(0.0005);
  });

  it('takes the test side to places that the response allows, with the contact that is used there', () => {
    expect(placesFor('ipsilateral', scenario).map(({ site }) => site)).toEqual(['mastoid', 'earlobe', 'canal']);
    expect(placesFor('ground', scenario)).toEqual([]);
    const inCanal = moveTo('canal', scenario);
    expect(inCanal).toMatchObject({ 'montage.site': 'canal', 'electrodes.ipsilateral.type': 'canal' });
    const there = tried(scenario, inCanal);
    expect(there.montage.site).toBe('canal');
    expect(moveTo('mastoid', there)).toMatchObject({ 'electrodes.ipsilateral.type': 'surface' });
    const muscle = resolveScenario({ response: { kind: 'cvemp' }, montage: { site: 'neck' } });
    expect(placesFor('ipsilateral', muscle).map(({ site }) => site)).toEqual(['neck']);
  });

  it('reads where an electrode is let go of', () => {
    const canal = placesFor('ipsilateral', scenario)[2].at;
    const cases = [
      ['ipsilateral', { x: canal.x + 5, y: canal.y - 5 }, 'canal', 'near a place: there'],
      ['ipsilateral', { x: 120, y: 120 }, undefined, 'on the skin, near no place: it stays'],
      ['ipsilateral', electrodePlaces(scenario).ipsilateral, undefined, 'where it was'],
    ] as const;
    for (const [name, at, site, why] of cases) expect(dropped(name, at, scenario)['montage.site'], why).toBe(site);
    expect(dropped('ground', { x: 20, y: 20 }, scenario)).toEqual({ 'electrodes.ground.open': true });
    const off = tried(scenario, { 'electrodes.ground.open': true });
    expect(electrodePlaces(off).ground).not.toEqual(electrodePlaces(scenario).ground);
    expect(dropped('ground', { x: 100, y: 100 }, off)).toEqual({ 'electrodes.ground.open': false });
    expect(dropped('ground', { x: 20, y: 20 }, off)).toEqual({});
  });

  it('leaves a scenario as it is where settings cannot be', () => {
    expect(tried(scenario, { 'montage.site': 'neck' })).toBe(scenario);
    expect(tried(scenario, {})).toBe(scenario);
  });
});

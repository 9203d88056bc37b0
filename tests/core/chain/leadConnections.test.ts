import { describe, expect, it } from 'vitest';
import { connectionsOf, leadMixing } from '../../../src/core/chain/leadConnections.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';

/** What two channels of `body` become. */
function mixed(document: object, [x0, x1]: readonly [number, number] = [3, 10]): number[] {
  const signals = [Float64Array.of(x0), Float64Array.of(x1)];
  leadMixing(resolveScenario(document))?.mix(signals[0], signals[1], 0, 1);
  return signals.map(([value]) => value);
}

describe('leadMixing', () => {
  it('has nothing to do where everything is right, or only the ground is off', () => {
    expect(leadMixing(resolveScenario({}))).toBeNull();
    expect(leadMixing(resolveScenario({ electrodes: { ground: { open: true } } }))).toBeNull();
  });

  const cases = [
    // leads, channels, why
    [{ reversed: true }, [-3, -10], 'both upside down'],
    [{ swapped: 'sides' }, [10, 3], 'each channel has the other ear'],
    [{ swapped: 'common-ipsilateral' }, [-3, 7], 'ipsi − common, and ipsi − contra = x₁ − x₀'],
    [{ swapped: 'common-contralateral' }, [-7, -10], 'contra − ipsi = x₀ − x₁, and contra − common'],
    [{ swapped: 'sides', reversed: true }, [-10, -3], 'both mistakes'],
  ] as const;
  it.each(cases)('%j: 3 and 10 become %j', (leads, expected, why) => {
    for (const site of ['mastoid', 'neck']) {
      for (const [c, value] of mixed({ response: { kind: 'none' }, leads, montage: { site } }).entries()) {
        expect(value, why).toBeCloseTo(expected[c], 12);
      }
    }
  });

  it('an open ear lead leaves half of what a head montage records, and a fortieth at the neck', () => {
    const open = { electrodes: { ipsilateral: { open: true } } };
    const held = 5 / 205; // pF against pF
    const [head, other] = mixed(open, [8, 8]);
    expect(head).toBeCloseTo(4 + 4 * held, 12);
    expect(other).toBeCloseTo(8, 12);
    expect(mixed({ ...open, response: { kind: 'none' }, montage: { site: 'neck' } }, [8, 8])[0]).toBeCloseTo(
      8 * held,
      12,
    );
    // Without the cable's capacitance more of it gets through.
    const near = { ...open, leads: { preampAtElectrode: true }, response: { kind: 'none' }, montage: { site: 'neck' } };
    expect(mixed(near, [8, 8])[0]).toBeCloseTo((8 * 5) / 45, 12);
  });

  it('an open common lead reaches both channels', () => {
    const open = { electrodes: { common: { open: true } } };
    expect(mixed(open, [8, 8])[0]).toBeCloseTo(mixed(open, [8, 8])[1], 12);
    expect(mixed(open, [8, 8])[0]).toBeLessThan(4.2);
    expect(mixed({ ...open, response: { kind: 'none' }, montage: { site: 'infra-orbital' } }, [8, 6])).toEqual([8, 6]); // its partner was silent
  });

  it('changes only what it is told to', () => {
    const signals = [Float64Array.of(1, 2, 3), Float64Array.of(4, 5, 6)];
    leadMixing(resolveScenario({ leads: { swapped: 'sides' } }))?.mix(signals[0], signals[1], 1, 2);
    expect(signals).toEqual([Float64Array.of(1, 5, 3), Float64Array.of(4, 2, 6)]);
  });
});

it('connectionsOf names the electrode at each input', () => {
  const { plus, minus, sign } = connectionsOf(
    resolveScenario({ leads: { swapped: 'common-ipsilateral', reversed: true } }),
  );
  expect([plus, ...minus, sign]).toEqual(['ipsilateral', 'common', 'contralateral', -1]);
});

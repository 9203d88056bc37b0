import { describe, expect, it } from 'vitest';
import { controlAt, controlGroups, sliderMap, tunableLabel } from '../../../src/web/model/controls.ts';

const controls = controlGroups.flatMap(({ entries }) => entries.map(([path, label]) => controlAt(path, label)));
const numbers = controls.flatMap((control) => (control.kind === 'number' ? [control] : []));

describe('controls', () => {
  it('exist for every setting that a trainer reaches for', () => {
    const paths = controls.map(({ path }) => path);
    for (const path of [
      'stimulus.levelDbNhl',
      'stimulus.ratePerS',
      'muscle.burstsPerS',
      'mains.fundamentalUv',
      'drift.walkUvPerRtS',
      'electrodes.ipsilateral.contactFactor',
      'leads.lengthM',
      'leads.preampAtElectrode',
      'room.fieldUt',
      'amplifier.rangeUv',
    ]) {
      expect(paths).toContain(path);
    }
    expect(new Set(paths).size).toBe(paths.length);
  });

  it('make words of the names of tunables', () => {
    expect(['thresholdUv', 'blockLength', 'processNoiseUv2', 'skipMs'].map(tunableLabel)).toEqual([
      'Threshold',
      'Block length',
      'Process noise',
      'Skip',
    ]);
  });

  it('are refused for a path that leads nowhere', () => {
    expect(() => controlAt('stimulus.pace', 'Pace')).toThrow('schemaAt: path must lead to an entry');
  });
});

describe('sliderMap', () => {
  it.each(numbers.map((control) => [control.path, control] as const))(
    '%s: ends are the bounds, middle comes back',
    (_path, control) => {
      const { schema, whole } = control;
      const map = sliderMap(schema, whole);
      expect(map.toValue(0)).toBe(schema.minimum);
      expect(map.toValue(map.steps)).toBe(schema.maximum);
      const position = map.toPosition(schema.default);
      expect(position).toBeGreaterThanOrEqual(0);
      expect(position).toBeLessThanOrEqual(map.steps);
      // A step of the slider is a hundredth of a decade or finer, and three digits are kept.
      const back = map.toValue(Math.round(position));
      expect(Math.abs(back - schema.default)).toBeLessThanOrEqual(0.03 * Math.abs(schema.default) + (whole ? 1 : 0.1));
    },
  );
});

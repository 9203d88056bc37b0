import type { TSchema } from '@sinclair/typebox';
import { type QuantitySchema, scenarioSchema } from '../../core/scenario/schema.ts';

/** One control of the bench drawer, made from its entry in the scenario schema. */
export type Control =
  | { kind: 'number'; path: string; label: string; schema: QuantitySchema; whole: boolean }
  | { kind: 'switch'; path: string; label: string; description: string }
  | { kind: 'choice'; path: string; label: string; description: string; choices: string[] };

/** Controls in the groups in which the drawer shows them. Everything else is set in a scenario file. */
export const controlGroups: readonly {
  title: string;
  open?: boolean;
  entries: readonly (readonly [string, string])[];
}[] = [
  {
    title: 'Stimulus and response',
    open: true,
    entries: [
      ['stimulus.levelDbNhl', 'Level'],
      ['stimulus.ratePerS', 'Rate'],
      ['stimulus.jitterMs', 'Jitter'],
      ['stimulus.polarity', 'Polarity'],
      ['response.kind', 'Response'],
      ['response.amplitudeScale', 'Response size'],
    ],
  },
  {
    title: 'Lanes',
    open: true,
    entries: [
      ['averaging.respectFlags', 'Leave flagged sweeps out'],
      ['averaging.baseline', 'Baseline'],
      ['averaging.channel', 'Channel'],
    ],
  },
  {
    title: 'Brain and muscle',
    entries: [
      ['eeg.slowUv', 'Slow EEG'],
      ['eeg.alphaUv', 'Alpha rhythm'],
      ['muscle.burstsPerS', 'Bursts'],
      ['muscle.burstUv', 'Burst size'],
      ['muscle.durationS', 'Burst length'],
      ['child.present', 'A child who moves'],
      ['child.restless.muscleUv', 'Restless spells'],
      ['child.moving.muscleUv', 'Moving spells'],
    ],
  },
  {
    title: 'Mains and electrodes',
    entries: [
      ['mains.fundamentalUv', 'Mains pickup'],
      ['mains.lineHz', 'Line frequency'],
      ['mains.wanderHz', 'Line wander'],
      ['drift.walkUvPerRtS', 'Drift'],
      ['drift.stepsPerS', 'Contact steps'],
      ['drift.stepUv', 'Step size'],
    ],
  },
  {
    title: 'Contacts and leads',
    entries: [
      ['montage.site', 'Electrodes sit at'],
      ['electrodes.ipsilateral.type', 'Near electrode'],
      ['electrodes.ipsilateral.contactFactor', 'Near contact, × resistance'],
      ['electrodes.ipsilateral.lossesPerS', 'Near contact lets go'],
      ['electrodes.ipsilateral.open', 'Near electrode off'],
      ['electrodes.contralateral.type', 'Far electrode'],
      ['electrodes.contralateral.contactFactor', 'Far contact, × resistance'],
      ['electrodes.contralateral.lossesPerS', 'Far contact lets go'],
      ['electrodes.contralateral.open', 'Far electrode off'],
      ['electrodes.common.contactFactor', 'Common contact, × resistance'],
      ['electrodes.common.open', 'Common electrode off'],
      ['electrodes.ground.contactFactor', 'Ground contact, × resistance'],
      ['electrodes.ground.open', 'Ground electrode off'],
      ['electrodes.thermalNoise', 'Thermal noise of the contacts'],
      ['leads.lengthM', 'Lead length'],
      ['leads.loopM2PerM', 'Loop between the leads'],
      ['leads.shieldFactor', 'Shield lets through'],
      ['leads.preampAtElectrode', 'First stage at the head'],
      ['leads.swapped', 'Leads exchanged'],
      ['leads.reversed', 'Inputs reversed'],
    ],
  },
  {
    title: 'Room',
    entries: [
      ['room.bodyCurrentUa', 'Current into the body'],
      ['room.leadCurrentNaPerM', 'Current into the leads'],
      ['room.fieldUt', 'Magnetic field'],
      ['room.lampFieldUt', 'Field of lamps'],
      ['room.modulation', 'People who move about'],
      ['room.switchingsPerS', 'Motors that switch'],
      ['room.switchingUv', 'Size of a switching'],
    ],
  },
  {
    title: 'Amplifier and filters',
    entries: [
      ['amplifier.rangeUv', 'Range (gain)'],
      ['amplifier.recoveryMs', 'Recovery'],
      ['amplifier.blockingMs', 'Blocking'],
      ['converter.guardMs', 'Guard time'],
      ['filter.highPassHz', 'High-pass'],
      ['filter.lowPassHz', 'Low-pass'],
      ['filter.notchHz', 'Notch'],
    ],
  },
  {
    title: 'Session',
    entries: [
      ['session.targetNv', 'Target noise'],
      ['session.durationS', 'Duration'],
    ],
  },
];

/** Finds the schema entry at a path. @throws {RangeError} if there is none */
function schemaAt(path: string): TSchema {
  let schema: TSchema = scenarioSchema;
  for (const key of path.split('.')) {
    const next = schema.properties?.[key];
    if (!next) throw new RangeError(`schemaAt: path must lead to an entry of the scenario, got "${path}"`);
    schema = next;
  }
  return schema;
}

/** A tunable's name as a label: words instead of humps, its unit left out. @example tunableLabel('thresholdUv') // 'Threshold' */
export function tunableLabel(key: string): string {
  const words = key.replace(/(Uv2|Uv|Ms|Hz|S|Nv|Deg|Count)$/, '').replace(/([a-z0-9])([A-Z])/g, '$1 $2');
  return words.charAt(0).toUpperCase() + words.slice(1).toLowerCase();
}

/** Makes the control of a path. @throws {RangeError} if its schema is of a kind that has no control */
export function controlAt(path: string, label: string): Control {
  const schema = schemaAt(path);
  const description = schema.description ?? '';
  if (schema.type === 'number' || schema.type === 'integer') {
    return { kind: 'number', path, label, schema: schema as QuantitySchema, whole: schema.type === 'integer' };
  }
  if (schema.type === 'boolean') return { kind: 'switch', path, label, description };
  const choices = schema.anyOf?.map((entry: TSchema) => String(entry.const));
  if (choices) return { kind: 'choice', path, label, description, choices };
  throw new RangeError(`controlAt: must be a number, a switch or a choice, got "${path}"`);
}

const SLIDER_STEPS = 1000;

/**
 * Maps a value to a slider position 0 … 1000 and back.
 *
 * Logarithmic where the bounds span more than two decades; a range that begins at 0 keeps the lowest position for 0 and
 * starts its decades four below the default, or five below the top.
 */
export function sliderMap({ minimum, maximum, default: standard }: QuantitySchema, whole: boolean) {
  const logarithmic = minimum >= 0 && maximum / Math.max(minimum, 1) > 100;
  const lowest = minimum > 0 ? minimum : standard > 0 ? Math.min(standard / 1e3, maximum / 1e5) : maximum / 1e5;
  const decades = Math.log(maximum / lowest);
  const tidy = (value: number) => {
    const rounded = whole ? Math.round(value) : Number(value.toPrecision(3));
    return Math.min(maximum, Math.max(minimum, rounded));
  };
  return {
    steps: SLIDER_STEPS,
    toPosition(value: number): number {
      if (!logarithmic) return (SLIDER_STEPS * (value - minimum)) / (maximum - minimum);
      return value < lowest ? 0 : Math.max(1, (SLIDER_STEPS * Math.log(value / lowest)) / decades);
    },
    toValue(position: number): number {
      if (!logarithmic) return tidy(minimum + ((maximum - minimum) * position) / SLIDER_STEPS);
      return position === 0 ? minimum : tidy(lowest * Math.exp((decades * position) / SLIDER_STEPS));
    },
  };
}

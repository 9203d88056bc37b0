import type { TSchema } from '@sinclair/typebox';
import { describe, expect, it } from 'vitest';
import { resolveScenario, ScenarioError, scenarioHash, withOverrides } from '../../../src/core/scenario/resolve.ts';
import { scenarioSchema } from '../../../src/core/scenario/schema.ts';

/** The message with which a document is refused; fails if it is taken. */
function refusal(document: unknown): string {
  try {
    resolveScenario(document);
  } catch (error) {
    expect(error).toBeInstanceOf(ScenarioError);
    return (error as Error).message;
  }
  return expect.fail(`must be refused: ${JSON.stringify(document)}`);
}

/** Every single entry of the schema with its path. */
function entries(schema: TSchema, keys: string[] = []): { keys: string[]; schema: TSchema }[] {
  if (schema.type !== 'object') return [{ keys, schema }];
  return Object.entries(schema.properties as Record<string, TSchema>).flatMap(([key, entry]) =>
    entries(entry, [...keys, key]),
  );
}

/** A document with one key set. */
function only(keys: readonly string[], value: unknown): object {
  return keys.reduceRight((inner: unknown, key) => ({ [key]: inner }), value) as object;
}

function valueAt(document: object, keys: readonly string[]): unknown {
  return keys.reduce((inner: unknown, key) => (inner as Record<string, unknown>)[key], document);
}

const all = entries(scenarioSchema);
const numbers = all.filter(({ schema }) => schema.minimum !== undefined);

describe('resolveScenario: defaults', () => {
  it('completes an empty document with every default, within bounds', () => {
    const scenario = resolveScenario({});
    expect(all.length).toBeGreaterThan(60);
    for (const { keys, schema } of all) expect(valueAt(scenario, keys), keys.join('.')).toEqual(schema.default);
  });

  it('has a unit, a default and a line of help for every number', () => {
    for (const { keys, schema } of numbers) {
      const path = keys.join('.');
      expect(schema.unit, path).toBeTypeOf('string');
      expect(schema.description, path).toBeTypeOf('string');
      expect(schema.minimum <= schema.default && schema.default <= schema.maximum, path).toBe(true);
    }
  });

  it('keeps what is given, completes the rest of the same group', () => {
    const scenario = resolveScenario({
      child: { present: true, moving: { muscleUv: 40 } },
      mains: { harmonicRatios: [1] },
    });
    expect(scenario.child).toMatchObject({
      present: true,
      quiet: { dwellS: 25, muscleUv: 1 },
      restless: { dwellS: 8, muscleUv: 10 },
      moving: { dwellS: 3, muscleUv: 40 },
      spellLogSd: 0.3,
    });
    expect(scenario.mains.harmonicRatios).toEqual([1]);
  });

  it('resolves what it has resolved to the same', () => {
    const scenario = resolveScenario({ stimulus: { ratePerS: 31 } });
    expect(resolveScenario(scenario)).toEqual(scenario);
  });

  it('takes a key that is given as undefined for missing', () => {
    expect(resolveScenario({ stimulus: { ratePerS: undefined } }).stimulus.ratePerS).toBe(27.7);
  });

  it('neither changes nor shares anything with the document or with the defaults', () => {
    const document = { mains: { harmonicRatios: [1, 0.5] } };
    const scenario = resolveScenario(document);
    scenario.mains.harmonicRatios[0] = 9;
    scenario.stimulus.ratePerS = 1;
    resolveScenario({}).mains.harmonicRatios[0] = 9;
    expect(document).toEqual({ mains: { harmonicRatios: [1, 0.5] } });
    expect(resolveScenario({}).mains.harmonicRatios[0]).toBe(1);
    expect(resolveScenario({}).stimulus.ratePerS).toBe(27.7);
  });
});

describe('resolveScenario: bounds of every number', () => {
  it.each(numbers.map(({ keys, schema }) => [keys.join('.'), keys, schema] as const))('%s', (path, keys, schema) => {
    const step = schema.type === 'integer' ? 1 : 1e-6 * Math.max(1, Math.abs(schema.maximum));
    for (const bad of [
      schema.minimum - step,
      schema.maximum + step,
      NaN,
      Infinity,
      -Infinity,
      String(schema.default),
      null,
      true,
    ]) {
      const message = refusal(only(keys, bad));
      expect(message, 'place').toMatch(new RegExp(`^${path}: `));
      expect(message, 'rule').toContain(`from ${schema.minimum} to ${schema.maximum}`);
      expect(message, 'value').toMatch(/, got (.+)$/);
    }
    // At the bounds only a rule that ties it to another key may refuse it.
    for (const good of [schema.minimum, schema.maximum]) {
      try {
        expect(valueAt(resolveScenario(only(keys, good)), keys)).toBe(good);
      } catch (error) {
        expect((error as Error).message).not.toContain(`from ${schema.minimum} to ${schema.maximum}`);
      }
    }
  });
});

const refusals = [
  // what, document, message, why
  ['a list', [], 'scenario: must be a document of keys, got []', 'not a group'],
  ['nothing', null, 'scenario: must be a document of keys, got null', 'an empty file'],
  ['text', 'quiet', 'scenario: must be a document of keys, got "quiet"', 'a file of words'],
  ['undefined', undefined, 'scenario: must be a document of keys, got nothing', 'no file'],
  ['a date', new Date(0), /^scenario: must be a document of keys/, 'an object, yet no group'],
  [
    'unknown section',
    { eg: {} },
    /^eg: unknown key; known here: version, id, .*averaging, measures, lanes, events$/,
    'top',
  ],
  [
    'unknown key',
    { stimulus: { rate: 3 } },
    'stimulus.rate: unknown key; known here: levelDbNhl, ratePerS, jitterMs, polarity, sweepsPerPolarityBlock, kind, frequencyHz, riseCycles, plateauCycles, modulationHz, transducer, maskingDb, trainS, restS',
    'one down',
  ],
  [
    'unknown key, deeper',
    { child: { quiet: { dwell: 3 } } },
    'child.quiet.dwell: unknown key; known here: dwellS, muscleUv',
    'two down',
  ],
  [
    'unknown tunable',
    { averaging: { kalman: { q: 0 } } },
    /^averaging\.kalman\.q: unknown key; known here: processNoiseUv2, /,
    'strategies',
  ],
  [
    'tunable where there is none',
    { averaging: { plainMean: { x: 1 } } },
    'averaging.plainMean.x: unknown key; known here: none',
    'no choices',
  ],
  ['wrong case', { Stimulus: {} }, /^Stimulus: unknown key/, 'keys are exact'],
  [
    'a path as key',
    { 'stimulus.ratePerS': 31 },
    /^stimulus\.ratePerS: unknown key; known here: version, /,
    'paths are for overrides',
  ],
  ['slash and tilde', { 'a/b~c': 1 }, /^a\/b~c: unknown key/, 'shown as written'],
  ['__proto__', JSON.parse('{"__proto__": {"present": true}}'), /^__proto__: unknown key/, 'no way to the prototype'],
  [
    '__proto__, deeper',
    { child: JSON.parse('{"__proto__": {"present": true}}') },
    /^child\.__proto__: unknown key/,
    'nor there',
  ],
  ['constructor', { constructor: 1 }, /^constructor: unknown key/, 'inherited names are no keys'],
  ['toString', { averaging: { toString: 1 } }, /^averaging\.toString: unknown key/, 'nor here'],
  ['group as number', { session: 5 }, 'session: must be a group of keys, got 5', 'wrong type'],
  ['group as null', { session: null }, 'session: must be a group of keys, got null', 'an empty section in a file'],
  ['group as list', { session: [] }, 'session: must be a group of keys, got []', 'wrong type'],
  [
    'number as group',
    { stimulus: { ratePerS: { a: 1 } } },
    /^stimulus\.ratePerS: must be a number .* got {"a":1}$/,
    'wrong type',
  ],
  ['future version', { version: 2 }, 'version: must be 1, got 2', 'not ours'],
  ['version as text', { version: '1' }, 'version: must be 1, got "1"', 'wrong type'],
  ['bad id', { id: 'A b' }, 'id: must be text of short name: a-z, 0-9 and -, got "A b"', 'used in file names'],
  ['title as number', { title: 5 }, 'title: must be text, got 5', 'wrong type'],
  [
    'choice',
    { stimulus: { polarity: 'up' } },
    'stimulus.polarity: must be alternating or rarefaction or condensation or blocks, got "up"',
    'choices named',
  ],
  ['switch as text', { child: { present: 'yes' } }, 'child.present: must be true or false, got "yes"', 'wrong type'],
  [
    'half a bit',
    { converter: { bits: 15.5 } },
    'converter.bits: must be a whole number from 8 to 24 bit, got 15.5',
    'counts are whole',
  ],
  [
    'no harmonics',
    { mains: { harmonicRatios: [] } },
    'mains.harmonicRatios: must be a list of 1 to 12 numbers, got []',
    'too few',
  ],
  [
    '13 harmonics',
    { mains: { harmonicRatios: Array(13).fill(1) } },
    /^mains\.harmonicRatios: must be a list of 1 to 12 numbers, got \[1,/,
    'too many',
  ],
  [
    'bad harmonic',
    { mains: { harmonicRatios: [1, 11] } },
    'mains.harmonicRatios.1: must be a number from 0 to 10, got 11',
    'place within the list',
  ],
  [
    'one harmonic, no list',
    { mains: { harmonicRatios: 1 } },
    'mains.harmonicRatios: must be a list of 1 to 12 numbers, got 1',
    'wrong type',
  ],
  ['long text', { child: { present: 'x'.repeat(99) } }, /got "x{56}…$/, 'the message stays one line'],
] as const;

describe('resolveScenario: refusals name place, rule and value', () => {
  it.each(refusals)('%s', (_what, document, message, why) => {
    const text = refusal(document);
    if (message instanceof RegExp) expect(text, why).toMatch(message);
    else expect(text, why).toBe(message);
    expect(text).not.toContain('\n');
  });

  it('leaves the prototype of all objects alone', () => {
    expect(({} as Record<string, unknown>).present).toBeUndefined();
  });
});

const together = [
  // refused, message, the nearest thing that is taken, why
  [
    { converter: { sampleRateHz: 3000 } },
    'filter.lowPassHz: must be below half of converter.sampleRateHz (1500 Hz), got 1500',
    { converter: { sampleRateHz: 3001 } },
    'low-pass below the Nyquist frequency',
  ],
  [
    { filter: { highPassHz: 1500 } },
    'filter.highPassHz: must be below filter.lowPassHz (1500 Hz), got 1500',
    { filter: { highPassHz: 1499 } },
    'a band has a width',
  ],
  [
    { converter: { sampleRateHz: 1000 }, filter: { lowPassHz: 400, notchHz: 500 } },
    'filter.notchHz: must be below half of converter.sampleRateHz (500 Hz), got 500',
    { converter: { sampleRateHz: 1000 }, filter: { lowPassHz: 400, notchHz: 499 } },
    'notch below the Nyquist frequency',
  ],
  [
    { muscle: { lowHz: 220 } },
    'muscle.lowHz: must be below muscle.highHz (220 Hz), got 220',
    { muscle: { lowHz: 219 } },
    'a spectrum has a width',
  ],
  [
    { converter: { sampleRateHz: 4000 }, muscle: { highHz: 2000 } },
    'muscle.highHz: must be below half of converter.sampleRateHz (2000 Hz), got 2000',
    { converter: { sampleRateHz: 4000 }, muscle: { highHz: 1999 } },
    'muscle spectrum below the Nyquist frequency',
  ],
  [
    { window: { analysisFromMs: -5.1 } },
    'window.analysisFromMs: must be at least −window.preMs (-5 ms), got -5.1',
    { window: { analysisFromMs: -5 } },
    'analysis starts within the sweep',
  ],
  [
    { window: { analysisToMs: 15.1 } },
    'window.analysisToMs: must be at most window.postMs (15 ms), got 15.1',
    { window: { analysisToMs: 15 } },
    'analysis ends within the sweep',
  ],
  [
    { window: { analysisToMs: 1.4375 } },
    'window.analysisToMs: must be at least 8 samples after window.analysisFromMs, got 1.4375',
    { window: { analysisToMs: 1.5 } },
    'enough samples to judge',
  ],
  [
    { window: { analysisFromMs: 13 } },
    'window.analysisToMs: must be at least 8 samples after window.analysisFromMs, got 12',
    { window: { analysisFromMs: 11.5 } },
    'not backwards',
  ],
  [
    { window: { preMs: 0 }, averaging: { baseline: 'pre-stimulus' } },
    'window.preMs: must hold at least 1 sample for averaging.baseline pre-stimulus, got 0',
    { window: { preMs: 0 } },
    'a baseline needs samples',
  ],
  [
    { window: { preMs: 0.06 }, averaging: { baseline: 'pre-stimulus' } },
    'window.preMs: must hold at least 1 sample for averaging.baseline pre-stimulus, got 0.06',
    { window: { preMs: 0.0625 }, averaging: { baseline: 'pre-stimulus' } },
    '0.96 of a sample is none',
  ],
  [
    { stimulus: { ratePerS: 25, jitterMs: 20 } },
    'stimulus.jitterMs: must be below half the interval (20 ms), got 20',
    { stimulus: { ratePerS: 25, jitterMs: 19.9 } },
    'stimuli keep their order',
  ],
  [
    { stimulus: { ratePerS: 80 } },
    'window.postMs: must fit the interval at 80/s (12.5 ms), got 15',
    { stimulus: { ratePerS: 80 }, window: { postMs: 12.5 } },
    'one sweep ends before the next stimulus',
  ],
  [
    { stimulus: { ratePerS: 27.7 }, window: { postMs: 36.2 } },
    'window.postMs: must fit the interval at 27.7/s (36.101 ms), got 36.2',
    { stimulus: { ratePerS: 27.7 }, window: { postMs: 36.101 } },
    'a time is told to the microsecond',
  ],
  [
    { session: { durationS: 15 }, stimulus: { ratePerS: 0.5 } },
    'session.durationS: must hold at least 8 sweeps, got 15',
    { session: { durationS: 16 }, stimulus: { ratePerS: 0.5 } },
    'something to average',
  ],
  [
    { window: { preMs: 450 }, stimulus: { ratePerS: 1, jitterMs: 51 } },
    'window.preMs: must be at most 500 ms less stimulus.jitterMs (51 ms), got 450',
    { window: { preMs: 450 }, stimulus: { ratePerS: 1, jitterMs: 50 } },
    'the first sweep begins within the recording',
  ],
] as const;

describe('resolveScenario: rules that tie two keys', () => {
  it.each(together)('%j', (document, message, neighbour, why) => {
    expect(refusal(document), why).toBe(message);
    expect(() => resolveScenario(neighbour), `${why}: just inside`).not.toThrow();
  });
});

describe('withOverrides', () => {
  const overrides = [
    // assignment, path, value, why
    ['stimulus.ratePerS=31', ['stimulus', 'ratePerS'], 31, 'number'],
    ['stimulus.levelDbNhl=-5', ['stimulus', 'levelDbNhl'], -5, 'negative'],
    ['averaging.kalman.processNoiseUv2=2e-6', ['averaging', 'kalman', 'processNoiseUv2'], 2e-6, 'exponent'],
    ['child.present=true', ['child', 'present'], true, 'switch'],
    ['stimulus.polarity=rarefaction', ['stimulus', 'polarity'], 'rarefaction', 'plain text'],
    ['mains.harmonicRatios=[1, 0.5]', ['mains', 'harmonicRatios'], [1, 0.5], 'list'],
    ['child.quiet={"dwellS": 9}', ['child', 'quiet', 'dwellS'], 9, 'group'],
    ['title=a=b', ['title'], 'a=b', 'only the first = counts'],
    ['title=', ['title'], '', 'empty text'],
    ['title="31"', ['title'], '31', 'quoted: text that looks like a number'],
    [' stimulus.ratePerS = 31 ', ['stimulus', 'ratePerS'], 31, 'spaces around'],
  ] as const;
  it.each(overrides)('%s', (assignment, keys, value, why) => {
    expect(valueAt(resolveScenario(withOverrides({}, [assignment])), keys), why).toEqual(value);
  });

  it('applies in order, the last one wins, and keeps what it does not name', () => {
    const document = { stimulus: { ratePerS: 11, levelDbNhl: 60 } };
    const changed = withOverrides(document, ['stimulus.ratePerS=21', 'stimulus.ratePerS=31']);
    expect(changed).toEqual({ stimulus: { ratePerS: 31, levelDbNhl: 60 } });
    expect(document, 'not changed').toEqual({ stimulus: { ratePerS: 11, levelDbNhl: 60 } });
  });

  const bad = [
    // assignment, message, why
    ['stimulus.ratePerS', 'override: must be path=value, got "stimulus.ratePerS"', 'no ='],
    ['=31', 'override: must be path=value, got "=31"', 'no path'],
    [' =31', 'override: path must have no empty key, got " =31"', 'no path but a space'],
    ['', 'override: must be path=value, got ""', 'nothing'],
    ['stimulus..ratePerS=31', 'override: path must have no empty key, got "stimulus..ratePerS=31"', 'a dot too many'],
    ['stimulus.=31', 'override: path must have no empty key, got "stimulus.=31"', 'a key missing'],
    ['title.x=1', 'override: title in title.x is a value, not a group, got "title.x=1"', 'through a value'],
    [
      'mains.harmonicRatios.0=1',
      'override: harmonicRatios in mains.harmonicRatios.0 is a value, not a group, got "mains.harmonicRatios.0=1"',
      'into a list',
    ],
  ] as const;
  it.each(bad)('refuses %j', (assignment, message, why) => {
    const document = { title: 'x', mains: { harmonicRatios: [1] } };
    expect(() => withOverrides(document, [assignment]), why).toThrow(new ScenarioError(message));
  });

  const badValues = [
    ['stimulus.rate=31', /^stimulus\.rate: unknown key/, 'unknown key'],
    ['stimulus.ratePerS=fast', /^stimulus\.ratePerS: must be a number .* got "fast"$/, 'word for a number'],
    ['stimulus.ratePerS=NaN', /^stimulus\.ratePerS: must be a number .* got "NaN"$/, 'NaN is not JSON'],
    ['stimulus.ratePerS=1e999', /^stimulus\.ratePerS: must be a number .* got Infinity$/, 'overflows'],
    ['stimulus.ratePerS=', /^stimulus\.ratePerS: must be a number .* got ""$/, 'forgotten value'],
    ['__proto__.present=true', /^__proto__: unknown key/, 'no way to the prototype'],
    ['constructor.prototype.present=true', /^constructor: unknown key/, 'nor that way'],
    ['child.__proto__.present=true', /^child\.__proto__: unknown key/, 'nor deeper'],
  ] as const;
  it.each(badValues)('%s is refused when resolved', (assignment, message, why) => {
    expect(refusal(withOverrides({}, [assignment])), why).toMatch(message);
    expect(({} as Record<string, unknown>).present, 'prototype untouched').toBeUndefined();
  });
});

describe('scenarioHash', () => {
  const scenario = resolveScenario({});

  it('is 12 hexadecimal digits', () => {
    expect(scenarioHash(scenario)).toMatch(/^[0-9a-f]{12}$/);
  });

  it('does not depend on the order of keys, at any depth', () => {
    const backwards = (value: unknown): unknown =>
      typeof value === 'object' && value !== null && !Array.isArray(value)
        ? Object.fromEntries(
            Object.entries(value)
              .reverse()
              .map(([key, entry]) => [key, backwards(entry)]),
          )
        : value;
    const reversed = backwards(scenario) as typeof scenario;
    expect(Object.keys(reversed)[0]).not.toBe(Object.keys(scenario)[0]);
    expect(scenarioHash(reversed)).toBe(scenarioHash(scenario));
  });

  it('changes with every single key, and never to the same', () => {
    const hashes = new Set([scenarioHash(scenario)]);
    const changed = all.filter(({ schema }) => schema.const === undefined); // version can only be 1
    for (const { keys, schema } of changed) {
      const copy = structuredClone(scenario);
      const group = valueAt(copy, keys.slice(0, -1)) as Record<string, unknown>;
      const key = keys[keys.length - 1];
      if (typeof group[key] === 'number') group[key] = (group[key] as number) + 1e-9;
      else if (typeof group[key] === 'boolean') group[key] = !group[key];
      else if (Array.isArray(group[key])) group[key] = [...(group[key] as unknown[]), 1];
      else group[key] = `${schema.default}x`;
      hashes.add(scenarioHash(copy));
    }
    expect(hashes.size).toBe(1 + changed.length);
  });
});

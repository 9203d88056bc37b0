import type { Scenario } from '../../core/scenario/schema.ts';

/** Where wave V of a click lies by the literature, at the levels for which it is told. */
export interface PublishedLatency {
  /** Row of the list of published values. */
  id: string;
  fromDbNhl: number;
  toDbNhl: number;
  /** Middle, ms; NaN where only a range is told. */
  meanMs: number;
  /** What is drawn: mean ± 2 deviations, or the range, ms; both the mean where neither is told. */
  lowMs: number;
  highMs: number;
  words: string;
  source: string;
}

const CONSENSUS = 'handbook consensus, quoted from memory';
const CONDITIONS = 'about 11 to 21 clicks/s, latencies as for supra-aural phones';

const adults: readonly PublishedLatency[] = [
  {
    id: 'C61',
    fromDbNhl: 78,
    toDbNhl: 82,
    meanMs: 5.6,
    lowMs: 5.6 - 2 * 0.2,
    highMs: 5.6 + 2 * 0.2,
    words: '5.6 ms ± 0.2 (1 SD) at 80 dB nHL',
    source: `${CONSENSUS}; adults, ${CONDITIONS}`,
  },
  {
    id: 'C68',
    fromDbNhl: 10,
    toDbNhl: 20,
    meanMs: NaN,
    lowMs: 7.5,
    highMs: 8.7,
    words: '7.5 to 8.7 ms near threshold, 10 to 20 dB nHL',
    source: `${CONSENSUS}; adults`,
  },
];

const newborns: readonly PublishedLatency[] = [
  {
    id: 'C72',
    fromDbNhl: 68,
    toDbNhl: 72,
    meanMs: 7,
    lowMs: 7,
    highMs: 7,
    words: '7.0 ms at 70 dB nHL, no deviation told',
    source: `${CONSENSUS}; newborns at term`,
  },
];

/** Published latencies of wave V that a series can be laid against; none for another sound than a click. */
export function publishedLatencies({ stimulus, patient }: Scenario): readonly PublishedLatency[] {
  if (stimulus.kind !== 'click' || stimulus.transducer === 'bone') return [];
  return patient.infant.present ? newborns : adults;
}

/** The published values and where they come from, in words, for the text of a picture. */
export function publishedWords(scenario: Scenario): string {
  const values = publishedLatencies(scenario);
  if (values.length === 0) return '';
  const told = values.map(({ words, source }) => `${words} (${source})`).join('; ');
  return `Published, dashed boxes: ${told}. Not recorded with these settings: use your own norms.`;
}

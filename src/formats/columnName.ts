import { microvoltsPerUnit } from './physicalUnit.ts';

/** What the name of a column says. */
export interface ColumnName {
  readonly label: string;
  /** µV per unit, where the name states a voltage unit in brackets: "Cz (mV)". */
  readonly scaleUv?: number;
  /** Set for a column of times. */
  readonly isTime: boolean;
  /** Seconds per unit of a time column, where the name states it. */
  readonly secondsPerUnit?: number;
}

const secondsPer: Readonly<Record<string, number>> = {
  s: 1,
  sec: 1,
  secs: 1,
  second: 1,
  seconds: 1,
  ms: 1e-3,
  msec: 1e-3,
  millisecond: 1e-3,
  milliseconds: 1e-3,
  us: 1e-6,
  µs: 1e-6,
  microseconds: 1e-6,
};
const timeWords = ['time', 'times', 'timestamp', 'timestamps', 't'];

/**
 * Reads a column's name: its label, and the unit where it has one, as "Cz (mV)", "time [ms]", "time_s" or "seconds".
 *
 * @example parseColumnName('TP9 (mV)') // { label: 'TP9', scaleUv: 1000, isTime: false }
 */
export function parseColumnName(name: string): ColumnName {
  const bracketed = /^(.*\S)\s*[([]([^()[\]]+)[)\]]$/.exec(name);
  const label = bracketed ? bracketed[1] : name;
  const unit = bracketed?.[2].trim();
  const word = label.toLowerCase();
  const suffixed = /^(.+)[_ -]([a-zµ]+)$/.exec(word);

  if (timeWords.includes(word)) {
    if (unit === undefined) return { label, isTime: true };
    const secondsPerUnit = secondsPer[unit.toLowerCase()];
    return secondsPerUnit === undefined ? { label: name, isTime: false } : { label, isTime: true, secondsPerUnit };
  }
  if (suffixed && timeWords.includes(suffixed[1]) && secondsPer[suffixed[2]] !== undefined) {
    return { label, isTime: true, secondsPerUnit: secondsPer[suffixed[2]] };
  }
  if (word.length > 1 && secondsPer[word] !== undefined)
    return { label, isTime: true, secondsPerUnit: secondsPer[word] };

  const scaleUv = unit === undefined ? undefined : microvoltsPerUnit(unit);
  return scaleUv === undefined ? { label: name, isTime: false } : { label, isTime: false, scaleUv };
}

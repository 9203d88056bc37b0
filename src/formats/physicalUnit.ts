/** Microvolts in one of each unit that recordings state; the keys are lower case. */
const microvoltsPer: Readonly<Record<string, number>> = {
  nv: 1e-3,
  uv: 1,
  mv: 1e3,
  v: 1e6,
};

/** The units a user may name, for messages and help. */
export const voltageUnits = ['nV', 'µV', 'mV', 'V'] as const;

/**
 * How many microvolts one of the given unit is.
 *
 * Case is ignored except for "MV", which would be a megavolt. All three ways of writing micro are read (letter u,
 * micro sign, Greek mu), also when UTF-8 bytes were read as Latin-1, as happens in EDF headers.
 *
 * @param unit - for example "uV", "µV", "mV"
 * @returns µV per unit; undefined if it is not a voltage
 * @example microvoltsPerUnit('mV') // 1000
 */
export function microvoltsPerUnit(unit: string): number | undefined {
  const plain = unit.trim().replace(/^(Âµ|Î¼|µ|μ)/, 'u');
  return plain.startsWith('M') ? undefined : microvoltsPer[plain.toLowerCase()];
}

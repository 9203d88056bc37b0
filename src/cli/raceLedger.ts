import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { type LaneSetting, laneName } from '../core/session/lanes.ts';
import { type NoiseLedger, noiseLedger } from '../core/session/ledger.ts';
import { withProgress } from './progress.ts';
import { csvTable, orNull, shown, textTable } from './table.ts';

/** Takes the error of every strategy's average apart, for the seed's own run; progress goes to a terminal. */
export function ledgersWithProgress(
  scenario: Scenario,
  seed: string,
  lanes: readonly LaneSetting[],
  outside: readonly AveragingStrategy[] = [],
): NoiseLedger[] {
  return withProgress(noiseLedger(scenario, seed, lanes, outside), 'ledger');
}

/** What the rows of a ledger add up to, nV rms, and the part of its square that no single row holds, nV². */
function sumOf({ rows, productsNv2 }: NoiseLedger): { sumNv: number; crossTermsNv2: number } {
  const powerNv2 = productsNv2.flat().reduce((sum, value) => sum + value, 0);
  const ownNv2 = rows.reduce((sum, _, k) => sum + productsNv2[k][k], 0);
  return { sumNv: Math.sqrt(Math.max(0, powerNv2)), crossTermsNv2: powerNv2 - ownNv2 };
}

/** How the rows were found; a lane that used no sweep has none. */
function kindOf({ exact, totalNv }: NoiseLedger): 'exact' | 'approximate' | 'no sweeps' {
  if (!exact) return 'approximate';
  return Number.isNaN(totalNv) ? 'no sweeps' : 'exact';
}

/** The key `ledger` of the JSON contract; tests/cli/raceLedger.test.ts holds it. */
export function ledgerJson(ledgers: readonly NoiseLedger[]): object[] {
  return ledgers.map((ledger) => {
    const { sumNv, crossTermsNv2 } = sumOf(ledger);
    return {
      strategy: ledger.strategy,
      totalNv: orNull(ledger.totalNv),
      sumNv: orNull(sumNv),
      crossTermsNv2: orNull(crossTermsNv2),
      exact: ledger.exact,
      rows: ledger.rows.map(({ id, label, rmsNv }) => ({ id, label, rmsNv: orNull(rmsNv) })),
      productsNv2: ledger.productsNv2.map((row) => row.map(orNull)),
    };
  });
}

/** The ledger as lines of comma-separated values, with the given columns in front of each. */
export function ledgerCsv(
  header: readonly string[],
  provenance: readonly (string | number)[],
  ledgers: readonly NoiseLedger[],
): string {
  const rows = ledgers.flatMap((ledger) => {
    const { sumNv, crossTermsNv2 } = sumOf(ledger);
    const line = (id: string, rmsNv: number, powerNv2: number) => [
      ...provenance,
      ledger.strategy,
      kindOf(ledger),
      id,
      rmsNv,
      powerNv2,
    ];
    return [
      ...ledger.rows.map(({ id, rmsNv }, k) => line(id, rmsNv, ledger.productsNv2[k][k])),
      line('cross-terms', NaN, crossTermsNv2),
      line('sum', sumNv, sumNv * sumNv),
      line('error', ledger.totalNv, ledger.totalNv * ledger.totalNv),
    ];
  });
  return csvTable([[...header, 'strategy', 'kind', 'part', 'rmsNv', 'powerNv2'], ...rows]);
}

/** The ledger as a table: a row for each source, a column for each strategy. */
export function ledgerText(ledgers: readonly NoiseLedger[], outside: readonly AveragingStrategy[] = []): string {
  const sums = ledgers.map(sumOf);
  const column = (row: (ledger: NoiseLedger, lane: number) => string) => ledgers.map(row);
  const signedRoot = (value: number) => (value < 0 ? -Math.sqrt(-value) : Math.sqrt(value));
  const label = (text: string, id: string) => (text === id ? text : `${text} (${id})`);
  const rows = [
    ['error of the average, nV', ...column((ledger) => laneName(ledger, outside))],
    ...ledgers[0].rows.map(({ id, label: text }, k) => [
      label(text, id),
      ...column(({ rows: own }) => shown(own[k].rmsNv, 1)),
    ]),
    ['cross terms (signed root)', ...column((_, lane) => shown(signedRoot(sums[lane].crossTermsNv2), 1))],
    ['all of these together', ...column((_, lane) => shown(sums[lane].sumNv, 1))],
    ['actual error', ...column(({ totalNv }) => shown(totalNv, 1))],
    ['rows are', ...column(kindOf)],
  ];
  return [
    textTable(rows),
    '',
    "Ledger: the seed's own run, nV rms over the analysis window. The final weights of each strategy are applied to every",
    'source alone; squares and cross terms add up to the square of the actual error. Approximate: the strategy is no',
    'weighted sum of sweeps; a row is what leaving the source out changes. --mute SOURCE runs without one.',
  ].join('\n');
}

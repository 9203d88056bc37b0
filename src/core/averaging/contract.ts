import { accountClauses } from './contractAccount.ts';
import type { ContractCheck } from './contractClause.ts';
import { repetitionClauses } from './contractRepetition.ts';
import { sturdinessClauses } from './contractSturdiness.ts';
import { symmetryClauses } from './contractSymmetry.ts';
import type { AveragingStrategy } from './strategy.ts';

/** Every clause of the contract, the simplest first. */
export const contractChecks: readonly ContractCheck[] = [
  ...repetitionClauses,
  ...symmetryClauses,
  ...accountClauses,
  ...sturdinessClauses,
];

/** The clauses that a strategy promises by what it declares. */
// biome-ignore lint/suspicious/noExplicitAny: each strategy has its own parameters
export function clausesOf(strategy: AveragingStrategy<any>): ContractCheck[] {
  return contractChecks.filter(({ appliesTo }) => appliesTo?.(strategy) ?? true);
}

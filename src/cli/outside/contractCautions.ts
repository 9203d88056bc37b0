import { checkedParameters } from '../../core/averaging/checkedParameters.ts';
import { clausesOf } from '../../core/averaging/contract.ts';
import { finiteOnly } from '../../core/averaging/finiteOnly.ts';
import { outsideStrategy } from './outsideStrategy.ts';

/** Two thirds of the time of all; `sweepwise strategies check` tries them too. */
const LONG_CLAUSES = ['causal', 'survives-strange-sweeps', 'bounded-memory'];

/**
 * Tries the quick clauses of the contract on outside strategies before they race, a second or two for each.
 *
 * In a process of their own, so a strategy that fails here is as fresh in the race as if nobody had asked.
 *
 * @param files - modules that can be loaded   @returns a sentence for each strategy that breaks something
 */
export async function contractCautions(files: readonly string[]): Promise<string[]> {
  const cautions: string[] = [];
  for (const file of files) {
    const strategy = await outsideStrategy(file);
    try {
      const subject = { strategy: finiteOnly(strategy), parameters: checkedParameters(strategy, {}, strategy.id) };
      const broken: string[] = [];
      for (const { id, breach } of clausesOf(strategy)) {
        if (LONG_CLAUSES.includes(id)) continue;
        try {
          const seen = breach(subject);
          if (seen !== null) broken.push(`${id} (${seen})`);
        } catch (error) {
          broken.push(`${id} (${(error as Error).message}; no clause could be tried after it)`);
          break; // its process has been ended
        }
      }
      if (broken.length > 0) {
        cautions.push(
          `${strategy.id} breaks its contract, so its figures may mean nothing: ${broken.join('; ')}. See "sweepwise strategies check ${file}".`,
        );
      }
    } finally {
      strategy.close();
    }
  }
  return cautions;
}

/** The budget of a whole shot: the lines behind results that there are, and the parts they give each result. */
import { type BudgetedResult, type BudgetLine, budgetedResults, type Estimate } from '../../shared/derivation.ts';
import { type BudgetEntry, nameGroups, uncertaintyParts } from './budget.ts';
import type { UsedGear } from './gear.ts';

type Results = Readonly<Record<BudgetedResult, Estimate | null>>;

function isMissing(results: Results, result: BudgetLine['result']): boolean {
  return result in results && results[result as BudgetedResult] === null;
}

/**
 * @param entries lines of every part of the derivation; those of a result that is null are dropped
 * @param standIns lines of the lab's own values; they count where a result has no others
 */
export function assembleBudget(
  results: Results,
  entries: readonly BudgetEntry[],
  standIns: readonly BudgetEntry[],
  gear: UsedGear,
): BudgetLine[] {
  const recomputed = new Set(entries.map(({ result }) => result));
  const all = [...entries, ...standIns.filter(({ result }) => !recomputed.has(result))];
  return nameGroups(
    all.filter(({ result }) => !isMissing(results, result)),
    gear,
  );
}

/** The results with their uncertainty by what it is common to. */
export function withPartsOf(results: Results, budget: readonly BudgetLine[]): Record<BudgetedResult, Estimate | null> {
  const signed = budgetedResults.map((result) => {
    const estimate = results[result];
    return [result, estimate === null ? null : { ...estimate, parts: uncertaintyParts(budget, result) }];
  });
  return Object.fromEntries(signed) as Record<BudgetedResult, Estimate | null>;
}

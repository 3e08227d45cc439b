/** The budget of a whole shot: the lines behind results that there are, and the parts they give each result. */
import type { BudgetedResult, BudgetLine, Estimate } from '../../shared/derivation.ts';
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
  const kept = entries.filter(({ result }) => !isMissing(results, result));
  for (const standIn of standIns) {
    const { result } = standIn;
    if (!isMissing(results, result) && !entries.some((entry) => entry.result === result)) kept.push(standIn);
  }
  return nameGroups(kept, gear);
}

/** The results with their uncertainty by what it is common to. */
export function withPartsOf(results: Results, budget: readonly BudgetLine[]): Record<BudgetedResult, Estimate | null> {
  const withParts = (result: BudgetedResult): Estimate | null => {
    const estimate = results[result];
    if (estimate === null) return null;
    const { value, standardUncertainty, lower, upper } = estimate;
    return { value, standardUncertainty, lower, upper, parts: uncertaintyParts(budget, result) };
  };
  return {
    cueSpeed: withParts('cueSpeed'),
    cueAcceleration: withParts('cueAcceleration'),
    contactTime: withParts('contactTime'),
    tipOffset: withParts('tipOffset'),
    tipHeight: withParts('tipHeight'),
    outcomeDistance: withParts('outcomeDistance'),
  };
}

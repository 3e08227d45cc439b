/** Inputs, steps, budget and flags of a derivation, in the order in which the numbers came about. */
import { budgetedResults, type DerivedShot } from '../../../shared/derivation.ts';
import type { ExplainedDerivation, ResultBudget } from '../../../shared/explanation.ts';
import { type FlagName, flags } from '../../../shared/flags.ts';
import { quantities } from '../../../shared/quantities.ts';
import type { Shot } from '../../../shared/shot.ts';
import type { UsedGear } from '../gear.ts';
import { settleGear } from '../settle-gear.ts';
import { ballSteps, expectedSteps } from './ball-steps.ts';
import { explainInputs } from './inputs.ts';
import { contactSteps, limitStep, outcomeSteps, reportedSteps, tipSteps, unitStep } from './other-steps.ts';
import { strokeSteps } from './stroke-steps.ts';

export type Explanation = Pick<ExplainedDerivation, 'inputs' | 'steps' | 'budget' | 'flags'>;

/** @param derived what a method version derived from this shot with this gear */
export function explainDerivation(shot: Shot, gear: UsedGear, derived: DerivedShot): Explanation {
  const settled = settleGear(gear);
  return {
    inputs: explainInputs(shot, gear, settled),
    steps: [
      unitStep(settled),
      ...strokeSteps(shot, settled, derived),
      ...contactSteps(shot, settled, derived),
      ...tipSteps(shot, derived),
      ...ballSteps(derived),
      ...outcomeSteps(shot, derived),
      ...expectedSteps(derived),
      ...reportedSteps(derived),
      limitStep(derived),
    ],
    budget: budgetsOf(derived),
    flags: derived.flags.map((name) => ({ name, ...flags[name as FlagName] })),
  };
}

function budgetsOf(derived: DerivedShot): ResultBudget[] {
  return budgetedResults.flatMap((result) => {
    const estimate = derived[result];
    if (estimate === null) return [];
    const lines = derived.budget
      .filter((line) => line.result === result)
      .sort((first, second) => second.contribution - first.contribution);
    return [{ result, unit: quantities[result].siUnit, estimate, lines }];
  });
}

/** Where the cue ball ended: a value when it came to rest by itself, else a bound. */
import type { DerivedShot, Estimate } from '../../shared/derivation.ts';
import type { Outcome } from '../../shared/shot.ts';
import { type BudgetEntry, budgetEntry, relativeEntry } from './budget.ts';
import { convertMeasure, convertOptional } from './convert-measure.ts';
import { normalEstimate, rootSumSquares } from './estimate.ts';
import { assumedOutcomeUncertainty } from './gear-defaults.ts';
import type { SettledGear } from './settle-gear.ts';

export interface DerivedOutcome {
  readonly distance: Estimate | null;
  readonly bound: number | null;
  readonly ended: DerivedShot['ended'];
  readonly reason: DerivedShot['reasons'][string] | null;
  readonly budget: readonly BudgetEntry[];
}

/**
 * Outcome distance in m with the lab's standard uncertainty (5 mm when none was given). A distance in ball radii or
 * diameters also carries the uncertainty of the ball size, one in pixels that of the scale.
 */
export function deriveOutcome(outcome: Outcome | undefined, gear: SettledGear): DerivedOutcome {
  const nothing = { distance: null, bound: null, ended: null, budget: [] };
  if (outcome === undefined) return { ...nothing, reason: 'notSent' };
  const { ended } = outcome;
  const value = convertMeasure(outcome.distance, 'outcomeDistance', gear.context);
  if (value === null) return { ...nothing, ended, reason: 'needsTable' };
  if (ended !== 'atRest') return { ...nothing, bound: value, ended, reason: 'censored' };

  const sent = convertOptional(outcome.standardUncertainty, 'outcomeDistance', gear.context);
  const reading = Math.abs(sent ?? assumedOutcomeUncertainty);
  const read = { input: 'reading of the distance', value, unit: 'm', standardUncertainty: reading };
  const budget: BudgetEntry[] = [budgetEntry('outcomeDistance', read, 1, 'B', 'shot')];
  const unit = outcome.distance.unit.trim();
  let common = 0;
  if (/^(R|balls?)$/.test(unit)) {
    common = Math.abs(value) * (gear.ballRadius.standardUncertainty / gear.ballRadius.value);
    budget.push(
      budgetEntry(
        'outcomeDistance',
        { input: 'ball radius', unit: 'm', ...gear.ballRadius },
        value / gear.ballRadius.value,
        'B',
        'table',
      ),
    );
  } else if (/^(px|pixels?)$/.test(unit)) {
    common = Math.abs(value) * gear.scaleUncertainty;
    budget.push(relativeEntry('outcomeDistance', 'scale', gear.scaleUncertainty, value, 'rig'));
  }
  return { distance: normalEstimate(value, rootSumSquares(reading, common)), bound: null, ended, reason: null, budget };
}

/** Where the cue ball ended: a value when it came to rest by itself, else a bound. */
import type { BudgetLine, DerivedShot, Estimate } from '../../shared/derivation.ts';
import type { Outcome } from '../../shared/shot.ts';
import { convertMeasure, convertOptional } from './convert-measure.ts';
import { normalEstimate, rootSumSquares } from './estimate.ts';
import { assumedOutcomeUncertainty } from './gear-defaults.ts';
import type { SettledGear } from './settle-gear.ts';

export interface DerivedOutcome {
  readonly distance: Estimate | null;
  readonly bound: number | null;
  readonly ended: DerivedShot['ended'];
  readonly reason: DerivedShot['reasons'][string] | null;
  readonly budget: readonly BudgetLine[];
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
  const budget: BudgetLine[] = [
    { result: 'outcomeDistance', input: 'reading of the distance', contribution: reading, kind: 'B', commonTo: 'shot' },
  ];
  const unit = outcome.distance.unit.trim();
  let common = 0;
  if (/^(R|balls?)$/.test(unit)) {
    common = Math.abs(value) * (gear.ballRadius.standardUncertainty / gear.ballRadius.value);
    budget.push({ result: 'outcomeDistance', input: 'ball radius', contribution: common, kind: 'B', commonTo: 'rig' });
  } else if (/^(px|pixels?)$/.test(unit)) {
    common = Math.abs(value) * gear.scaleUncertainty;
    budget.push({ result: 'outcomeDistance', input: 'scale', contribution: common, kind: 'B', commonTo: 'rig' });
  }
  return { distance: normalEstimate(value, rootSumSquares(reading, common)), bound: null, ended, reason: null, budget };
}

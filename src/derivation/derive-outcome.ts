/** Where the cue ball ended: a value when it came to rest by itself, else a bound. */
import type { DerivedShot, Estimate } from '../../shared/derivation.ts';
import type { Outcome } from '../../shared/shot.ts';
import { type BudgetEntry, budgetEntry, relativeEntry } from './budget.ts';
import { convertMeasure, convertOptional } from './convert-measure.ts';
import type { BallReading } from './derive-ball.ts';
import { normalEstimate, rootSumSquares } from './estimate.ts';
import { assumedOutcomeUncertainty } from './gear-defaults.ts';
import type { SettledGear } from './settle-gear.ts';

export interface DerivedOutcome {
  readonly distance: Estimate | null;
  readonly bound: number | null;
  readonly ended: DerivedShot['ended'];
  readonly reason: DerivedShot['reasons'][string] | null;
  readonly budget: readonly BudgetEntry[];
  /** The lab's own distance, when the one of the ball track went before it. */
  readonly labDistance: Estimate | null;
}

/**
 * Outcome distance in m: from the ball track when it shows the ball come to rest by itself, else as the lab measured it.
 * Anything that did not end at rest is a bound: that of the track when it shows one, else the lab's; and a ball that
 * touched a cushion is only known up to there.
 */
export function deriveOutcome(
  outcome: Outcome | undefined,
  reading: BallReading | null,
  gear: SettledGear,
): DerivedOutcome {
  const own = labOutcome(outcome, gear);
  const ball = reading?.ball;
  if (reading === null || ball?.read !== true || ball.ended === null) return own;
  const censored = (bound: number, ended: DerivedShot['ended']): DerivedOutcome => ({
    distance: null,
    bound,
    ended,
    reason: 'censored',
    budget: [],
    labDistance: null,
  });
  if (ball.ended === 'atRest') {
    // What the lab saw happen goes before what the film looks like: a ball stopped by hand lies still too.
    if (own.ended !== null && own.ended !== 'atRest') return own;
    if (ball.outcomeDistance === null) return own;
    return {
      distance: ball.outcomeDistance,
      bound: null,
      ended: 'atRest',
      reason: null,
      budget: reading.outcomeBudget,
      labDistance: own.distance,
    };
  }
  if (ball.outcomeBound === null) return own;
  if (ball.ended === 'cushion') return censored(ball.outcomeBound, 'cushion');
  return own.ended === null ? censored(ball.outcomeBound, ball.ended) : own;
}

/**
 * The lab's distance with its standard uncertainty (5 mm when none was given). A distance in ball radii or diameters also
 * carries the uncertainty of the ball size, one in pixels that of the scale.
 */
function labOutcome(outcome: Outcome | undefined, gear: SettledGear): DerivedOutcome {
  const nothing = { distance: null, bound: null, ended: null, budget: [], labDistance: null };
  if (outcome === undefined) return { ...nothing, reason: 'notSent' };
  const { ended } = outcome;
  const value = convertMeasure(outcome.distance, 'outcomeDistance', gear.context);
  if (value === null) return { ...nothing, ended, reason: 'needsTable' };
  const cushion = convertOptional(outcome.firstCushionDistance, 'outcomeDistance', gear.context);
  if (cushion !== null) return { ...nothing, bound: cushion, ended: 'cushion', reason: 'censored' };
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
  const distance = normalEstimate(value, rootSumSquares(reading, common));
  return { ...nothing, distance, ended, reason: null, budget };
}

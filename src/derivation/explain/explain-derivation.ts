/** Inputs, steps, budget and flags of a derivation, in the order in which the numbers came about. */
import type { DerivedShot, Estimate } from '../../../shared/derivation.ts';
import type { ExplainedDerivation, ResultBudget } from '../../../shared/explanation.ts';
import { type FlagName, flags } from '../../../shared/flags.ts';
import { quantities } from '../../../shared/quantities.ts';
import type { Shot } from '../../../shared/shot.ts';
import { combinedUncertainty } from '../chain-budget.ts';
import { normalEstimate } from '../estimate.ts';
import type { UsedGear } from '../gear.ts';
import { settleGear } from '../settle-gear.ts';
import { ballSteps, ballUnits, expectedSteps } from './ball-steps.ts';
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
      ...tipSteps(shot, settled, derived),
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

const units: Readonly<Record<ResultBudget['result'], string>> = {
  cueSpeed: quantities.cueSpeed.siUnit,
  cueAcceleration: quantities.cueAcceleration.siUnit,
  contactTime: quantities.contactTime.siUnit,
  tipOffset: quantities.tipOffset.siUnit,
  tipHeight: quantities.tipHeight.siUnit,
  outcomeDistance: quantities.outcomeDistance.siUnit,
  ...ballUnits,
  restitution: '1',
  effectiveCueMass: 'kg',
  objectBallDistance: quantities.objectBallDistance.siUnit,
  cueMass: quantities.cueMass.siUnit,
  elevation: quantities.elevation.siUnit,
};

/** Every result that has lines, in the order of the units above. */
function budgetsOf(derived: DerivedShot): ResultBudget[] {
  return (Object.keys(units) as ResultBudget['result'][]).flatMap((result) => {
    const lines = derived.budget
      .filter((line) => line.result === result)
      .sort((first, second) => second.contribution - first.contribution);
    const estimate = estimateOf(derived, result, lines);
    return estimate === null || lines.length === 0 ? [] : [{ result, unit: units[result], estimate, lines }];
  });
}

function estimateOf(
  derived: DerivedShot,
  result: ResultBudget['result'],
  lines: ResultBudget['lines'],
): Estimate | null {
  const { ball, expected } = derived;
  switch (result) {
    case 'restitution':
    case 'effectiveCueMass':
      return expected[result];
    case 'objectBallDistance':
    case 'cueMass':
    case 'elevation':
      return passedOn(derived[result], lines);
    case 'ballSpeed':
      return ball?.read === true && ball.ballSpeed !== null ? ball.ballSpeed : passedOn(derived.ballSpeed, lines);
    case 'arrivalSpeed':
    case 'speedAfterImpact':
    case 'slidingFriction':
    case 'rollingResistance':
    case 'impactTime':
      return ball?.read === true ? ball[result] : null;
    case 'turningPoint':
      return ball?.read === true ? (ball.turningPoint?.distance ?? null) : null;
    default:
      return derived[result];
  }
}

/** A value as sent, with the uncertainty of its lines. */
function passedOn(value: number | null, lines: ResultBudget['lines']): Estimate | null {
  return value === null ? null : normalEstimate(value, combinedUncertainty(lines));
}

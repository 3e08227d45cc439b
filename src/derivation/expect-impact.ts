/**
 * What a measured ball speed says about the impact, from v (k + m/M) = (1 + e) V with k = 1 + (5/2)(b/R)^2:
 *
 *   restitution           e = v (k + m/M) / V - 1            with the mass of the cue
 *   effective cue mass    M = m / [(1 + e) V / v - k]        with the common restitution
 *
 * Without the cue speed after the impact only one of them is free.
 */
import type { Estimate } from '../../shared/estimate.ts';
import { offsetFactor } from '../physics/cue-impact.ts';
import type { BudgetEntry } from './budget.ts';
import { type ChainInput, chainBudget, type PassedLine } from './chain-budget.ts';
import { normalEstimate } from './estimate.ts';
import type { ExpectationInput, impactInputs } from './expectation-inputs.ts';
import { propagate } from './propagate.ts';

type Speeds = Pick<ExpectationInput, 'cueSpeed' | 'ballSpeed' | 'tipOffset'>;
type ImpactInputs = ReturnType<typeof impactInputs>;
type Formula<Name extends string> = (values: Readonly<Record<Name, number>>) => number | null;
/** Budgets of the results that an impact starts from. */
export type LinesOf = (result: 'cueSpeed' | 'ballSpeed' | 'tipOffset' | 'outcomeDistance') => readonly PassedLine[];

const restitution: Formula<'cueSpeed' | 'ballSpeed' | 'tipOffset' | 'cueMass' | 'ballMass'> = (values) => {
  const ratio = values.ballMass / values.cueMass;
  return (values.ballSpeed * (offsetFactor(values.tipOffset) + ratio)) / values.cueSpeed - 1;
};

const explainingMass: Formula<'cueSpeed' | 'ballSpeed' | 'tipOffset' | 'tipRestitution' | 'ballMass'> = (values) => {
  const ratio = ((1 + values.tipRestitution) * values.cueSpeed) / values.ballSpeed - offsetFactor(values.tipOffset);
  return ratio > 0 ? values.ballMass / ratio : null;
};

/** Restitution of tip and ball; null when a speed, the tip offset or the cue mass is missing. */
export function restitutionFromMeasured(
  { cueSpeed, ballSpeed, tipOffset }: Speeds,
  { cueMass, ballMass }: ImpactInputs,
): Estimate | null {
  if (cueSpeed === null || ballSpeed === null || tipOffset === null || cueMass === null) return null;
  return estimateOf({ cueSpeed, ballSpeed, tipOffset, cueMass, ballMass }, restitution);
}

/** Cue mass that explains the ball speed, kg; null when a speed or the tip offset is missing, or no mass explains it. */
export function cueMassFromSpeeds(
  { cueSpeed, ballSpeed, tipOffset }: Speeds,
  { tipRestitution, ballMass }: ImpactInputs,
): Estimate | null {
  if (cueSpeed === null || ballSpeed === null || tipOffset === null) return null;
  return estimateOf({ cueSpeed, ballSpeed, tipOffset, tipRestitution, ballMass }, explainingMass);
}

/** Both with their budgets, from the budgets of the speeds and the tip offset; empty where there is none. */
export function impactBudgets(
  { cueSpeed, ballSpeed, tipOffset }: Speeds,
  { cueMass, ballMass, tipRestitution }: ImpactInputs,
  linesOf: LinesOf,
): BudgetEntry[] {
  if (cueSpeed === null || ballSpeed === null || tipOffset === null) return [];
  const shared = {
    cueSpeed: derivedInput(cueSpeed, 'm/s', linesOf('cueSpeed')),
    ballSpeed: derivedInput(ballSpeed, 'm/s', linesOf('ballSpeed')),
    tipOffset: derivedInput(tipOffset, '1', linesOf('tipOffset')),
    ballMass: { ...ballMass, unit: 'kg', commonTo: 'table' },
  } as const;
  const ofTip = { ...tipRestitution, unit: '1', commonTo: 'cue' } as const;
  return [
    ...(cueMass === null
      ? []
      : chainBudget('restitution', { ...shared, cueMass: { ...cueMass, unit: 'kg', commonTo: 'cue' } }, restitution)),
    ...chainBudget('effectiveCueMass', { ...shared, tipRestitution: ofTip }, explainingMass),
  ];
}

/** A result as an input of another. */
export function derivedInput(estimate: Estimate, unit: string, lines: readonly PassedLine[]): ChainInput {
  const { value, standardUncertainty } = estimate;
  return { value, unit, standardUncertainty, commonTo: 'shot', lines };
}

function estimateOf<Name extends string>(
  inputs: Readonly<Record<Name, { readonly value: number; readonly standardUncertainty: number }>>,
  result: Formula<Name>,
): Estimate | null {
  const values = Object.fromEntries(
    (Object.keys(inputs) as Name[]).map((name) => [name, inputs[name].value]),
  ) as Record<Name, number>;
  const value = result(values);
  if (value === null || !Number.isFinite(value)) return null;
  const { standardUncertainty } = propagate(inputs, result);
  return Number.isFinite(standardUncertainty) ? normalEstimate(value, standardUncertainty) : null;
}

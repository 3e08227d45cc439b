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
import { normalEstimate } from './estimate.ts';
import type { ExpectationInput, impactInputs } from './expectation-inputs.ts';
import { propagate } from './propagate.ts';

type Speeds = Pick<ExpectationInput, 'cueSpeed' | 'ballSpeed' | 'tipOffset'>;
type ImpactInputs = ReturnType<typeof impactInputs>;

/** Restitution of tip and ball; null when a speed, the tip offset or the cue mass is missing. */
export function restitutionFromMeasured(
  { cueSpeed, ballSpeed, tipOffset }: Speeds,
  { cueMass, ballMass }: ImpactInputs,
): Estimate | null {
  if (cueSpeed === null || ballSpeed === null || tipOffset === null || cueMass === null) return null;
  return estimateOf({ cueSpeed, ballSpeed, tipOffset, cueMass, ballMass }, (values) => {
    const ratio = values.ballMass / values.cueMass;
    return (values.ballSpeed * (offsetFactor(values.tipOffset) + ratio)) / values.cueSpeed - 1;
  });
}

/** Cue mass that explains the ball speed, kg; null when a speed or the tip offset is missing, or no mass explains it. */
export function cueMassFromSpeeds(
  { cueSpeed, ballSpeed, tipOffset }: Speeds,
  { tipRestitution, ballMass }: ImpactInputs,
): Estimate | null {
  if (cueSpeed === null || ballSpeed === null || tipOffset === null) return null;
  return estimateOf({ cueSpeed, ballSpeed, tipOffset, tipRestitution, ballMass }, (values) => {
    const ratio = ((1 + values.tipRestitution) * values.cueSpeed) / values.ballSpeed - offsetFactor(values.tipOffset);
    return ratio > 0 ? values.ballMass / ratio : null;
  });
}

function estimateOf<Name extends string>(
  inputs: Readonly<Record<Name, { readonly value: number; readonly standardUncertainty: number }>>,
  result: (values: Readonly<Record<Name, number>>) => number | null,
): Estimate | null {
  const values = Object.fromEntries(
    (Object.keys(inputs) as Name[]).map((name) => [name, inputs[name].value]),
  ) as Record<Name, number>;
  const value = result(values);
  if (value === null || !Number.isFinite(value)) return null;
  const { standardUncertainty } = propagate(inputs, result);
  return Number.isFinite(standardUncertainty) ? normalEstimate(value, standardUncertainty) : null;
}

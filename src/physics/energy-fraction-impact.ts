/**
 * The impact when the share of kinetic energy kept, not the restitution, is the same at every tip offset (an assumption
 * of Coriolis, 1835). It agrees with the rigid impulse at a central hit and gives less speed off centre.
 *
 *   eta = 1 - (1 - e0^2) r / (1 + r),  r = m/M,  e0 = restitution of a central hit
 *   v = V [1 + sqrt(eta - (1 - eta) k / r)] / (k + r),  k = 1 + (5/2)(b/R)^2
 *   the same as restitution e_b with e_b^2 = 1 - (1 - e0^2)(k + r)/(1 + r)
 */
import { type CueImpact, type CueImpactInput, cueImpact, offsetFactor } from './cue-impact.ts';

/** eta, the share of kinetic energy kept, from the restitution e0 of a central hit. */
export function energyKept(cueMass: number, ballMass: number, centralRestitution: number): number {
  const ratio = ballMass / cueMass;
  return 1 - ((1 - centralRestitution * centralRestitution) * ratio) / (1 + ratio);
}

/** e_b, the restitution at this tip offset; null where no impact keeps that little energy (k above its limit). */
export function restitutionAtOffset(
  cueMass: number,
  ballMass: number,
  centralRestitution: number,
  tipOffset: number,
): number | null {
  const ratio = ballMass / cueMass;
  const square = 1 - ((1 - centralRestitution * centralRestitution) * (offsetFactor(tipOffset) + ratio)) / (1 + ratio);
  return square >= 0 ? Math.sqrt(square) : null;
}

/** The impact; `restitution` of the input is that of a central hit. Null where the form has no solution. */
export function energyFractionImpact(input: CueImpactInput): CueImpact | null {
  const restitution = restitutionAtOffset(input.cueMass, input.ballMass, input.restitution, input.tipOffset);
  return restitution === null ? null : cueImpact({ ...input, restitution });
}

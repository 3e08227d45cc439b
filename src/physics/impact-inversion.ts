/** What measured speeds before and after an impact say about it; the inversions of the rigid impulse. */
import { offsetFactor } from './cue-impact.ts';

/** Restitution e = (v k - V') / V of tip and ball. Speeds in m/s. */
export function restitutionFromSpeeds(
  cueSpeed: number,
  cueSpeedAfter: number,
  ballSpeed: number,
  tipOffset: number,
): number {
  return (ballSpeed * offsetFactor(tipOffset) - cueSpeedAfter) / cueSpeed;
}

/** Cue mass that explains the loss of cue speed, m v / (V - V'), kg; far from the scale's value, something is wrong. */
export function effectiveCueMass(cueSpeed: number, cueSpeedAfter: number, ballSpeed: number, ballMass: number): number {
  return (ballMass * ballSpeed) / (cueSpeed - cueSpeedAfter);
}

/** Range of v/V that 0 <= e <= 1 allows: 1/(k + m/M) to 2/(k + m/M). */
export function speedRatioBounds(
  cueMass: number,
  ballMass: number,
  tipOffset: number,
): { readonly least: number; readonly most: number } {
  const least = 1 / (offsetFactor(tipOffset) + ballMass / cueMass);
  return { least, most: 2 * least };
}

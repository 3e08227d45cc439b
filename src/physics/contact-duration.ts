/**
 * How long tip and ball touch, by the stiffness of the tip. m_eff = m / (k + m/M), see `effectiveMass`.
 *
 * Common practice without a source: contact lasts about a millisecond and shortens as the stroke gets faster; only a tip
 * that stiffens as it is squeezed (exponent above 1) shows the second.
 */
import asin from '@stdlib/math-base-special-asin';
import exp from '@stdlib/math-base-special-exp';
import ln from '@stdlib/math-base-special-ln';
import { gammaFunction } from './gamma-function.ts';

const pi = 2 * asin(1);

/**
 * Tip with a linear stiffness k1 (N/m) while squeezed and k1/e^2 while it gives back:
 * T = (pi/2) sqrt(m_eff/k1) (1 + e), greatest force V sqrt(k1 m_eff). Independent of the speed.
 *
 * @param effectiveMass kg
 * @param cueSpeed m/s
 */
export function bilinearContact(
  effectiveMass: number,
  stiffness: number,
  restitution: number,
  cueSpeed: number,
): { readonly duration: number; readonly greatestForce: number } {
  return {
    duration: (pi / 2) * Math.sqrt(effectiveMass / stiffness) * (1 + restitution),
    greatestForce: cueSpeed * Math.sqrt(stiffness * effectiveMass),
  };
}

/** Contact time over (greatest squeeze / cue speed) of an elastic tip F = k x^a: 2 sqrt(pi) G(1 + 1/(a+1)) / G(1/2 + 1/(a+1)). */
export function powerLawPrefactor(exponent: number): number {
  const share = 1 / (exponent + 1);
  return (2 * Math.sqrt(pi) * gammaFunction(1 + share)) / gammaFunction(0.5 + share);
}

/**
 * Contact time of an elastic tip F = k x^a, s: the prefactor times x_m / V, x_m = [(a+1) m_eff V^2 / (2k)]^(1/(a+1)).
 * It goes with V^(-(a-1)/(a+1)).
 *
 * @param effectiveMass kg
 * @param stiffness k, N/m^a
 * @param cueSpeed m/s
 */
export function powerLawContactTime(
  effectiveMass: number,
  stiffness: number,
  exponent: number,
  cueSpeed: number,
): number {
  const energy = ((exponent + 1) * effectiveMass * cueSpeed * cueSpeed) / (2 * stiffness);
  const squeeze = exp(ln(energy) / (exponent + 1));
  return (powerLawPrefactor(exponent) * squeeze) / cueSpeed;
}

/**
 * Central hit with an elastic linear tip while the hand goes on pushing: A (m/s2) is the acceleration that the hand would
 * give the free cue. With w = sqrt(k/m_red), m_red = m M/(m + M):
 * T = [pi + 2 atan(A/(V w))]/w,  v = (2 M V + M A T)/(M + m).
 */
export function pushedContact(input: {
  readonly cueSpeed: number;
  readonly cueAcceleration: number;
  readonly cueMass: number;
  readonly ballMass: number;
  readonly stiffness: number;
}): { readonly duration: number; readonly ballSpeed: number } {
  const { cueSpeed, cueAcceleration, cueMass, ballMass, stiffness } = input;
  const rate = Math.sqrt((stiffness * (cueMass + ballMass)) / (cueMass * ballMass));
  const ratio = cueAcceleration / (cueSpeed * rate);
  const angle = asin(ratio / Math.sqrt(1 + ratio * ratio));
  const duration = (pi + 2 * angle) / rate;
  return {
    duration,
    ballSpeed: (2 * cueMass * cueSpeed + cueMass * cueAcceleration * duration) / (cueMass + ballMass),
  };
}

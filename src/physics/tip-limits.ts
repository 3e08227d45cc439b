/** Largest tip offsets that gear and geometry allow; all as lever arm over ball radius, b/R. */

/**
 * Largest |b/R| at which the contact is still on the dome of the tip and not on its rim: r_tip / rho.
 *
 * @param tipDiameter m
 * @param tipRadius dome radius rho, m
 */
export function domeLimit(tipDiameter: number, tipRadius: number): number {
  return Math.min(1, tipDiameter / 2 / tipRadius);
}

/**
 * Lowest b/R that a level cue can reach before the rim of its tip meets the cloth: -(R - r_tip) / (R + rho).
 *
 * @param ballRadius m
 * @param tipDiameter m
 * @param tipRadius dome radius rho, m
 */
export function levelCueClearance(ballRadius: number, tipDiameter: number, tipRadius: number): number {
  return -(ballRadius - tipDiameter / 2) / (ballRadius + tipRadius);
}

/**
 * Largest |b/R| without slip between tip and ball: the impulse along the cue axis must lie in the friction cone, so
 * mu / sqrt(1 + mu^2).
 *
 * @param tipFriction friction coefficient of tip and ball, 1
 */
export function miscueLimit(tipFriction: number): number {
  return tipFriction / Math.sqrt(1 + tipFriction * tipFriction);
}

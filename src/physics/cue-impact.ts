/**
 * Level cue against a resting ball: one rigid impulse J along the cue axis at lever arm b, no slip at the tip, no squirt,
 * hand and table forces negligible during contact.
 *
 *   m v = J,  (2/5) m R^2 omega = J b,  V' = V - J / M,  (v + b omega) - V' = e V
 *   v = V (1 + e) / (1 + m/M + (5/2)(b/R)^2)
 *
 * e is the ratio of the speeds of parting and approach at the point of contact. Derived; checked by integrating the motion.
 */

export interface CueImpactInput {
  /** V, m/s, just before contact. */
  readonly cueSpeed: number;
  /** b/R. */
  readonly tipOffset: number;
  /** M, kg. */
  readonly cueMass: number;
  /** m, kg. */
  readonly ballMass: number;
  /** R, m. */
  readonly ballRadius: number;
  /** e of tip and ball, 0..1. */
  readonly restitution: number;
}

export interface CueImpact {
  /** v, m/s. */
  readonly ballSpeed: number;
  /** s = R omega = (5/2) v b/R, m/s, positive topspin; s = v is natural roll. */
  readonly surfaceSpin: number;
  /** omega, rad/s. */
  readonly spinRate: number;
  /** V', m/s, just after contact. */
  readonly cueSpeedAfter: number;
  /** J, N s. */
  readonly impulse: number;
  /** Kinetic energy lost, J. */
  readonly energyLost: number;
}

/** k = 1 + (5/2)(b/R)^2: how much the lever arm eases the ball away. */
export function offsetFactor(tipOffset: number): number {
  return 1 + 2.5 * tipOffset * tipOffset;
}

/** Mass that the contact feels, m / (k + m/M), kg. */
export function effectiveMass(cueMass: number, ballMass: number, tipOffset: number): number {
  return ballMass / (offsetFactor(tipOffset) + ballMass / cueMass);
}

/** Ball and cue just after the impact. */
export function cueImpact(input: CueImpactInput): CueImpact {
  const { cueSpeed, tipOffset, cueMass, ballMass, restitution } = input;
  const mass = effectiveMass(cueMass, ballMass, tipOffset);
  const impulse = (1 + restitution) * cueSpeed * mass;
  return {
    ...ballAfterImpulse(impulse, input),
    cueSpeedAfter: cueSpeed - impulse / cueMass,
    impulse,
    energyLost: (mass * (1 - restitution * restitution) * cueSpeed * cueSpeed) / 2,
  };
}

/** Speed and spin that an impulse (N s) along the cue axis gives the ball. */
export function ballAfterImpulse(
  impulse: number,
  ball: Pick<CueImpactInput, 'ballMass' | 'ballRadius' | 'tipOffset'>,
): Pick<CueImpact, 'ballSpeed' | 'surfaceSpin' | 'spinRate'> {
  const ballSpeed = impulse / ball.ballMass;
  const surfaceSpin = 2.5 * ballSpeed * ball.tipOffset;
  return { ballSpeed, surfaceSpin, spinRate: surfaceSpin / ball.ballRadius };
}

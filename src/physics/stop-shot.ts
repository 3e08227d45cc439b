/**
 * The stop shot: the tip offset below centre, beta = -b/R, at which the backspin is just gone when the cue ball has
 * travelled d to the object ball.
 *
 *   d = (v0^2 / (mu_s g)) (beta - beta^2/2)   <=>   beta = 1 - sqrt(1 - 2 mu_s g d / v0^2)
 *   v1 = v0 (1 - beta),  t = beta v0 / (mu_s g)
 *
 * v0 = ball speed off the tip. Derived from the sliding ball and the initial spin s = (5/2) v b/R.
 *
 * With balls that are not perfectly elastic a ball without spin creeps on; see `stoppingSpin`.
 */
import { standardGravity } from './constants.ts';

export interface StopShot {
  /** b/R, negative. */
  readonly tipOffset: number;
  /** v1, m/s, on arrival. */
  readonly arrivalSpeed: number;
  /** s. */
  readonly time: number;
}

/** The stop shot at ball speed v0 (m/s) and distance d (m), or null when the ball is too slow to slide that far. */
export function stopShot(
  ballSpeed: number,
  distance: number,
  slidingFriction: number,
  gravity = standardGravity,
): StopShot | null {
  const deceleration = slidingFriction * gravity;
  const left = 1 - (2 * deceleration * distance) / (ballSpeed * ballSpeed);
  if (!(left >= 0)) return null;
  const depth = 1 - Math.sqrt(left);
  return {
    tipOffset: -depth,
    arrivalSpeed: ballSpeed * (1 - depth),
    time: (depth * ballSpeed) / deceleration,
  };
}

/**
 * Least ball speed (m/s) for a stop shot at distance d (m) when the tip offset may be no lower than -`deepest`:
 * sqrt(mu_s g d / (beta - beta^2/2)).
 */
export function leastStopSpeed(
  distance: number,
  deepest: number,
  slidingFriction: number,
  gravity = standardGravity,
): number {
  return Math.sqrt((slidingFriction * gravity * distance) / (deepest - (deepest * deepest) / 2));
}

/**
 * Depth beta at which a cue of given speed stops the ball after the longest travel, whatever the speed, restitution and
 * cloth: a deeper hit has more backspin but less ball speed. With v0 = (1 + e) V / (kappa + (5/2) beta^2) and
 * kappa = 1 + m/M it is the root of (1 - beta)(kappa + (5/2) beta^2) = 10 beta (beta - beta^2/2), found by bisection.
 */
export function deepestUsefulStop(cueMass: number, ballMass: number): number {
  const kappa = 1 + ballMass / cueMass;
  let low = 0;
  let high = 1;
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    const rising = (1 - middle) * (kappa + 2.5 * middle * middle);
    const falling = 10 * middle * (middle - (middle * middle) / 2);
    if (rising > falling) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Backspin on arrival, |s1|/v1, at which the cue ball stays where it hit a ball of its own mass full: what the friction
 * mu_bb between the balls leaves of it takes away the speed v' = v1 (1 - e_bb)/2 that the cue ball keeps, so that the
 * roll speed (5 v' + 2 s')/7 is zero. From the two cases of the full hit:
 *
 *   surfaces stick:  (14/9)(5/4)(1 - e_bb)          gross slip:  (5/4)[(1 - e_bb) + mu_bb (1 + e_bb)]
 *
 * whichever is less. Zero for perfectly elastic balls. Derived.
 */
export function stoppingSpin(ballRestitution: number, ballFriction: number): number {
  const sticking = (35 / 18) * (1 - ballRestitution);
  const slipping = 1.25 * (1 - ballRestitution + ballFriction * (1 + ballRestitution));
  return Math.min(sticking, slipping);
}

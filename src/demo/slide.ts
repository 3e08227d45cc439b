/**
 * The cue ball on the cloth: sliding with spin, rolling, full contact with an equal object ball, and what follows.
 * v is the speed of the centre, s = R * omega the surface speed of the spin (positive topspin; s = v is rolling).
 * Sliding friction acts against the slip v - s with deceleration mu g and turns the spin 5/2 times as fast; rolling
 * slows by the rolling resistance alone.
 */

export const gravity = 9.80665;

export interface BallState {
  /** m/s, positive in the direction of the shot. */
  readonly speed: number;
  /** m/s. */
  readonly spin: number;
}

export interface Cloth {
  /** Sliding friction between ball and cloth. */
  readonly slidingFriction: number;
  /** Rolling resistance, deceleration over g. */
  readonly rollingResistance: number;
}

export interface Balls {
  /** Restitution of ball against ball. */
  readonly restitution: number;
  /** Friction of ball against ball. */
  readonly friction: number;
}

/** State after `distance` m of travel from a forward moving state, or null when the ball stops short of it. */
export function advance(start: BallState, distance: number, cloth: Cloth): BallState | null {
  let { speed, spin } = start;
  let left = distance;
  const slip = speed - spin;
  if (slip !== 0) {
    const slowing = Math.sign(slip) * cloth.slidingFriction * gravity;
    const untilRolling = Math.abs(slip) / (3.5 * cloth.slidingFriction * gravity);
    const slideLength = speed * untilRolling - (slowing / 2) * untilRolling * untilRolling;
    if (slideLength >= left) {
      const root = speed * speed - 2 * slowing * left;
      if (root < 0) return null;
      const time = (2 * left) / (speed + Math.sqrt(root));
      return { speed: speed - slowing * time, spin: spin + 2.5 * slowing * time };
    }
    speed -= slowing * untilRolling;
    spin = speed;
    left -= slideLength;
  }
  const root = speed * speed - 2 * cloth.rollingResistance * gravity * left;
  if (speed <= 0 || root <= 0) return null;
  return { speed: Math.sqrt(root), spin: Math.sqrt(root) };
}

/** State of the cue ball just after a full hit on an equal ball at rest; the spin rubs against the object ball. */
export function afterFullHit(arriving: BallState, balls: Balls): BallState {
  const { speed, spin } = arriving;
  const normal = ((1 + balls.restitution) / 2) * speed;
  // The rubbing ends early when the surfaces come to move together, which takes a seventh of the spin.
  const lost = Math.min(2.5 * balls.friction * normal, (2.5 * Math.abs(spin)) / 7);
  return { speed: speed - normal, spin: spin - Math.sign(spin) * lost };
}

/** Signed distance from here to rest, m, on a cloth without rails: negative when the ball comes back. */
export function distanceToRest(start: BallState, cloth: Cloth): number {
  const slip = start.speed - start.spin;
  const slowing = Math.sign(slip) * cloth.slidingFriction * gravity;
  const time = Math.abs(slip) / (3.5 * cloth.slidingFriction * gravity);
  const slide = start.speed * time - (slowing / 2) * time * time;
  const rolling = start.speed - slowing * time;
  return slide + (rolling * Math.abs(rolling)) / (2 * cloth.rollingResistance * gravity);
}

export interface Lie {
  /** Travel of the cue ball to the object ball, m. */
  readonly objectBallDistance: number;
  /** Free way of the cue ball back from the place of the ball-ball impact to the cushion, m. */
  readonly roomBehind: number;
  /** Free way ahead, m. */
  readonly roomAhead: number;
}

export interface Outcome {
  /** Signed distance from the place of the ball-ball impact, m: negative draw, positive follow. */
  readonly distance: number;
  readonly ended: 'atRest' | 'cushion';
  readonly arriving: BallState;
}

/** Plays the shot from the tip to the outcome; null when the cue ball never reaches the object ball. */
export function playOut(offTip: BallState, lie: Lie, cloth: Cloth, balls: Balls): Outcome | null {
  const arriving = advance(offTip, lie.objectBallDistance, cloth);
  if (arriving === null) return null;
  const free = distanceToRest(afterFullHit(arriving, balls), cloth);
  if (free > lie.roomAhead) return { distance: lie.roomAhead, ended: 'cushion', arriving };
  if (free < -lie.roomBehind) return { distance: -lie.roomBehind, ended: 'cushion', arriving };
  return { distance: free, ended: 'atRest', arriving };
}

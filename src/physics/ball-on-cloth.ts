/**
 * A ball on the cloth: it slides until its slip u = v - s is gone, then rolls. v = speed, s = R omega = surface spin
 * (positive topspin), both m/s along the shot line.
 *
 *   sliding, sigma = sign(u):  dv/dt = -sigma mu_s g,  ds/dt = (5/2) sigma mu_s g,  d|u|/dt = -(7/2) mu_s g
 *   t_roll = 2|u| / (7 mu_s g),  v_roll = (5 v + 2 s)/7,  x_roll = (2/49)|u|(6 v + s)/(mu_s g)
 *   rolling:  dv/dt = -mu_r g  (mu_r defined by the deceleration)
 *
 * Constant sliding friction; standard textbook mechanics.
 */
import { standardGravity } from './constants.ts';

export interface BallMotion {
  /** v, m/s. */
  readonly speed: number;
  /** s, m/s. */
  readonly surfaceSpin: number;
}

export interface SlideToRoll {
  /** s. */
  readonly time: number;
  /** m, signed. */
  readonly distance: number;
  /** m/s, signed. */
  readonly rollSpeed: number;
}

/** From any motion to natural roll. */
export function slideToRoll(motion: BallMotion, slidingFriction: number, gravity = standardGravity): SlideToRoll {
  const { speed, surfaceSpin } = motion;
  const slip = Math.abs(speed - surfaceSpin);
  const deceleration = slidingFriction * gravity;
  return {
    time: (2 * slip) / (7 * deceleration),
    distance: (2 * slip * (6 * speed + surfaceSpin)) / (49 * deceleration),
    rollSpeed: (5 * speed + 2 * surfaceSpin) / 7,
  };
}

/** From natural roll to rest: signed distance v|v| / (2 mu_r g), m, and time, s. */
export function rollToRest(
  rollSpeed: number,
  rollingFriction: number,
  gravity = standardGravity,
): { readonly distance: number; readonly time: number } {
  const deceleration = rollingFriction * gravity;
  return {
    distance: (rollSpeed * Math.abs(rollSpeed)) / (2 * deceleration),
    time: Math.abs(rollSpeed) / deceleration,
  };
}

/**
 * Motion after travelling `distance` m forward from a forward start, or null when the ball does not get there: it comes
 * to rest, or turns back, first.
 */
export function motionAfterTravel(
  start: BallMotion,
  distance: number,
  slidingFriction: number,
  rollingFriction: number,
  gravity = standardGravity,
): BallMotion | null {
  const slide = slideToRoll(start, slidingFriction, gravity);
  const sense = Math.sign(start.speed - start.surfaceSpin);
  const deceleration = sense * slidingFriction * gravity;
  // While it slides v^2 falls by 2 mu_s g x; a ball that turns back within the slide has its farthest point there.
  const turnsBack = sense > 0 && slide.rollSpeed < 0;
  const reach = turnsBack ? (start.speed * start.speed) / (2 * deceleration) : slide.distance;
  if (distance <= reach) {
    const square = start.speed * start.speed - 2 * deceleration * distance;
    const speed = Math.sqrt(Math.max(0, square));
    return { speed, surfaceSpin: start.surfaceSpin - 2.5 * (speed - start.speed) };
  }
  if (turnsBack || slide.rollSpeed <= 0) return null;
  const square = slide.rollSpeed * slide.rollSpeed - 2 * rollingFriction * gravity * (distance - slide.distance);
  if (square < 0) return null;
  const speed = Math.sqrt(square);
  return { speed, surfaceSpin: speed };
}

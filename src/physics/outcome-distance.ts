/**
 * Where the cue ball ends, by the model: full hit, then slide and roll on an endless table.
 *
 *   D = (2/49)|v' - s'|(6 v' + s')/(mu_s g) + sign(v_r) v_r^2/(2 mu_r g),  v_r = (5 v' + 2 s')/7
 *
 * D is measured from the cue-ball centre at the ball-ball impact: positive follow, negative draw.
 */
import { type BallMotion, motionAfterTravel, rollToRest, slideToRoll } from './ball-on-cloth.ts';
import { standardGravity } from './constants.ts';
import { type FullHit, fullHit } from './full-hit.ts';

export interface TableModel {
  readonly slidingFriction: number;
  /** Defined by the deceleration, mu_r g. */
  readonly rollingFriction: number;
  /** Ball-ball restitution. */
  readonly ballRestitution: number;
  /** Ball-ball friction. */
  readonly ballFriction: number;
  /** kg. */
  readonly cueBallMass: number;
  /** kg. */
  readonly objectBallMass: number;
  /** See `FullHitInput`. */
  readonly spinByMasses?: boolean;
  /** m/s2; standard gravity when not given. */
  readonly gravity?: number;
}

/** Signed distance to rest of a ball set in motion on the cloth, m. */
export function distanceToRest(motion: BallMotion, table: TableModel): number {
  const gravity = table.gravity ?? standardGravity;
  const slide = slideToRoll(motion, table.slidingFriction, gravity);
  return slide.distance + rollToRest(slide.rollSpeed, table.rollingFriction, gravity).distance;
}

export interface ExpectedOutcome {
  /** Cue ball on arrival at the object ball. */
  readonly arrival: BallMotion;
  readonly hit: FullHit;
  /** D, m. */
  readonly outcomeDistance: number;
}

/**
 * From the cue ball just off the tip to its outcome distance.
 *
 * @param start cue ball just off the tip
 * @param objectBallDistance cue-ball travel to the object ball, m
 * @returns null when the cue ball does not reach the object ball
 */
export function expectedOutcome(
  start: BallMotion,
  objectBallDistance: number,
  table: TableModel,
): ExpectedOutcome | null {
  const gravity = table.gravity ?? standardGravity;
  const arrival = motionAfterTravel(start, objectBallDistance, table.slidingFriction, table.rollingFriction, gravity);
  if (arrival === null || arrival.speed === 0) return null;
  const hit = fullHit({
    cueBall: arrival,
    cueBallMass: table.cueBallMass,
    objectBallMass: table.objectBallMass,
    restitution: table.ballRestitution,
    friction: table.ballFriction,
    spinByMasses: table.spinByMasses ?? false,
  });
  return { arrival, hit, outcomeDistance: distanceToRest(hit.cueBall, table) };
}

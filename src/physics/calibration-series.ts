/**
 * Friction of a table from a lab's own series.
 *
 *   roll-out:   a ball that rolls at v comes to rest after x:  mu_r = v^2 / (2 g x)   (deceleration over gravity)
 *   stop shot:  v0 off the tip at depth beta = -b/R stops at an object ball d away:  mu_s = (v0^2 - v1^2) / (2 g d)
 *               with v1 = v0 (1 - beta) / (1 - (2/5) |s1|/v1), |s1|/v1 the backspin that stops it (`stoppingSpin`);
 *               of perfectly elastic balls mu_s = v0^2 (beta - beta^2/2) / (g d)
 *
 * Each shot gives one value with its propagated uncertainty; they are combined by inverse variance, widened where they
 * scatter more than that (`combineIndependent`).
 */
import { combineIndependent } from '../kinematics/uncertain.ts';
import { standardGravity } from './constants.ts';
import { stoppingSpin } from './stop-shot.ts';

/** A measured value with its standard uncertainty, SI. */
export interface Measured {
  readonly value: number;
  readonly standardUncertainty: number;
}

export interface RollOut {
  /** m/s, of natural roll. */
  readonly speed: Measured;
  /** m from there to rest. */
  readonly distance: Measured;
}

export interface StopShotTrial {
  /** Off the tip, m/s. */
  readonly ballSpeed: Measured;
  /** b/R, negative. */
  readonly tipOffset: Measured;
  /** Cue-ball travel to the object ball, m. */
  readonly distance: Measured;
}

/** Energy definition of rolling resistance over the deceleration one: all kinetic energy of a rolling ball is 7/5 of m v^2/2. */
export const energyOverDeceleration = 1.4;

const knownUncertainty = 1e6;

/** Mean of the values of a series; null of none. */
export function combineSeries(values: readonly Measured[]): Measured | null {
  const mean = combineIndependent(values.map((value) => ({ ...value, degrees: knownUncertainty })));
  return mean === null ? null : { value: mean.value, standardUncertainty: mean.standardUncertainty };
}

function relative({ value, standardUncertainty }: Measured): number {
  return standardUncertainty / value;
}

/** Rolling resistance by deceleration from one roll-out; null when nothing moved. */
export function rollingOf({ speed, distance }: RollOut, gravity = standardGravity): Measured | null {
  if (!(speed.value > 0 && distance.value > 0)) return null;
  const value = (speed.value * speed.value) / (2 * gravity * distance.value);
  const bySpeed = 2 * relative(speed);
  const byDistance = relative(distance);
  return { value, standardUncertainty: value * Math.sqrt(bySpeed * bySpeed + byDistance * byDistance) };
}

/** What two balls of one mass do to each other. */
export interface BallPair {
  readonly ballRestitution: number;
  readonly ballFriction: number;
}

const elastic: BallPair = { ballRestitution: 1, ballFriction: 0 };

/** Sliding friction from one stop shot; null of a ball that was not struck below centre, or would stop unslowed. */
export function slidingOf(
  { ballSpeed, tipOffset, distance }: StopShotTrial,
  balls: BallPair = elastic,
  gravity = standardGravity,
): Measured | null {
  const depth = -tipOffset.value;
  if (!(ballSpeed.value > 0 && distance.value > 0 && depth > 0 && depth < 1)) return null;
  const slowed = 1 - 0.4 * stoppingSpin(balls.ballRestitution, balls.ballFriction);
  const arrival = (1 - depth) / slowed;
  const share = (1 - arrival * arrival) / 2;
  if (!(share > 0)) return null;
  const value = (ballSpeed.value * ballSpeed.value * share) / (gravity * distance.value);
  const bySpeed = 2 * relative(ballSpeed);
  const byDepth = (arrival / (slowed * share)) * tipOffset.standardUncertainty;
  const byDistance = relative(distance);
  return {
    value,
    standardUncertainty: value * Math.sqrt(bySpeed * bySpeed + byDepth * byDepth + byDistance * byDistance),
  };
}

function usable(values: readonly (Measured | null)[]): Measured[] {
  return values.filter((value) => value !== null);
}

/** Rolling resistance by deceleration; shots without motion are passed over; null of none. */
export function rollingFromRollOut(series: readonly RollOut[], gravity = standardGravity): Measured | null {
  return combineSeries(usable(series.map((shot) => rollingOf(shot, gravity))));
}

/** Sliding friction; shots that `slidingOf` has no value of are passed over; null of none. */
export function slidingFromStopShots(
  series: readonly StopShotTrial[],
  balls: BallPair = elastic,
  gravity = standardGravity,
): Measured | null {
  return combineSeries(usable(series.map((shot) => slidingOf(shot, balls, gravity))));
}

/**
 * Friction of a table from a lab's own series.
 *
 *   roll-out:   a ball that rolls at v comes to rest after x:  mu_r = v^2 / (2 g x)   (deceleration over gravity)
 *   stop shot:  v0 off the tip at depth beta = -b/R loses its backspin after d:  mu_s = v0^2 (beta - beta^2/2) / (g d)
 *
 * Each shot gives one value with its propagated uncertainty; they are combined by inverse variance, widened where they
 * scatter more than that (`combineIndependent`).
 */
import { combineIndependent } from '../kinematics/uncertain.ts';
import { standardGravity } from './constants.ts';

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

function combined(values: readonly Measured[]): Measured | null {
  const mean = combineIndependent(values.map((value) => ({ ...value, degrees: knownUncertainty })));
  return mean === null ? null : { value: mean.value, standardUncertainty: mean.standardUncertainty };
}

function relative({ value, standardUncertainty }: Measured): number {
  return standardUncertainty / value;
}

/** Rolling resistance by deceleration; shots without motion are passed over; null of none. */
export function rollingFromRollOut(series: readonly RollOut[], gravity = standardGravity): Measured | null {
  const usable = series.filter(({ speed, distance }) => speed.value > 0 && distance.value > 0);
  return combined(
    usable.map(({ speed, distance }) => {
      const value = (speed.value * speed.value) / (2 * gravity * distance.value);
      const bySpeed = 2 * relative(speed);
      const byDistance = relative(distance);
      return { value, standardUncertainty: value * Math.sqrt(bySpeed * bySpeed + byDistance * byDistance) };
    }),
  );
}

/** Sliding friction; shots that were not struck below centre are passed over; null of none. */
export function slidingFromStopShots(series: readonly StopShotTrial[], gravity = standardGravity): Measured | null {
  const usable = series.filter(
    ({ ballSpeed, tipOffset, distance }) =>
      ballSpeed.value > 0 && distance.value > 0 && tipOffset.value < 0 && tipOffset.value > -1,
  );
  return combined(
    usable.map(({ ballSpeed, tipOffset, distance }) => {
      const depth = -tipOffset.value;
      const share = depth - (depth * depth) / 2;
      const value = (ballSpeed.value * ballSpeed.value * share) / (gravity * distance.value);
      const bySpeed = 2 * relative(ballSpeed);
      const byDepth = ((1 - depth) / share) * tipOffset.standardUncertainty;
      const byDistance = relative(distance);
      return {
        value,
        standardUncertainty: value * Math.sqrt(bySpeed * bySpeed + byDepth * byDepth + byDistance * byDistance),
      };
    }),
  );
}

/**
 * First contact found in the track itself: the cue loses part of its speed to the ball, so its track has a break.
 *
 *   x(t) = c_0 + c_1 t + c_2 t^2 - D g(t - tau)
 *   g(s) = s - sin(w s) / w  for 0 < s < T,   T + 2 (s - T) beyond,   w = pi / T
 *
 * The stroke before contact is a parabola, the loss of speed 2 D; g is what a linear spring between tip and ball does to
 * the cue over a contact of duration T (physics: the half-sine force of a linear tip). For each tau the rest is linear
 * least squares; the sum of squares that the break explains is largest at the estimate, first on a grid of whole frames,
 * then by parabolas. The standard uncertainty of tau is that of least squares, from the curvature of the residual sum of
 * squares, 2 s^2 / RSS'', and a tenth of T for the shape of the force, which nobody measured (derived here; the spread
 * that other shapes give is in tests/kinematics/track-break.test.ts).
 */
import asin from '@stdlib/math-base-special-asin';
import sin from '@stdlib/math-base-special-sin';
import { orthogonalBasis } from './orthogonal-basis.ts';

export interface TrackBreakInput {
  /** s relative to the declared first contact, increasing; before and after it. */
  readonly times: Float64Array;
  /** m, positive towards the ball. */
  readonly positions: Float64Array;
  /** Frame interval, s: the grid of the search. */
  readonly interval: number;
  /** Duration of contact that the shape assumes, s. */
  readonly contactTime: number;
}

export interface TrackBreak {
  /** Of first contact, s relative to the declared one. */
  readonly time: number;
  readonly standardUncertainty: number;
  /** Speed the cue loses at the break, m/s. */
  readonly speedLoss: number;
}

/** Before and after the declared contact, s. */
const windowBefore = 0.012;
const contactTimesAfter = 2;
/** How far from the declared contact the break is sought, s. */
const reach = 0.004;
const leastPointsBefore = 6;
const leastPointsAfter = 4;
/** A break must explain this many times the residual variance: t of about 6. */
const leastRatio = 36;
const shapeShare = 0.1;
const degree = 2;
const pi = 2 * asin(1);

/** Null when the track shows no clear loss of speed, or too little of it was tracked. */
export function trackBreak(input: TrackBreakInput): TrackBreak | null {
  const { times, interval, contactTime } = input;
  let start = 0;
  while (start < times.length && (times[start] as number) < -windowBefore - reach) start += 1;
  let end = times.length;
  while (end > start && (times[end - 1] as number) > contactTimesAfter * contactTime) end -= 1;
  let before = 0;
  while (start + before < end && (times[start + before] as number) <= 0) before += 1;
  if (before < leastPointsBefore || end - start - before < leastPointsAfter) return null;

  const x = times.subarray(start, end);
  const points = x.length;
  const half = ((x[points - 1] as number) - (x[0] as number)) / 2;
  const middle = (x[0] as number) + half;
  const basis = orthogonalBasis(
    x.map((time) => (time - middle) / half),
    degree,
  );
  const residuals = input.positions.slice(start, end);
  const sum = removeBasis(residuals, basis.values, basis.squaredNorm);
  const shape = new Float64Array(points);
  /** Explained sum of squares, negative when the cue would gain speed. */
  const explained = (tau: number) =>
    explainedBy(x, residuals, basis.values, basis.squaredNorm, shape, tau, contactTime);

  const earliest = Math.max(-reach, (x[leastPointsBefore - 1] as number) + interval);
  const latest = Math.min(reach, (x[points - 3] as number) - interval);
  if (!(latest > earliest)) return null;
  const steps = Math.floor((latest - earliest) / interval);
  let best = -1;
  let most = 0;
  for (let k = 0; k <= steps; k += 1) {
    const value = explained(earliest + k * interval);
    if (value > most) {
      most = value;
      best = k;
    }
  }
  // At an end of the search the break is not bracketed.
  if (best <= 0 || best >= steps) return null;
  let time = earliest + best * interval;
  let step = interval;
  let curvature = 0;
  for (let round = 0; round < 3; round += 1) {
    const left = explained(time - step);
    const centre = explained(time);
    const right = explained(time + step);
    curvature = (left - 2 * centre + right) / (step * step);
    if (!(curvature < 0)) return null;
    const shift = ((left - right) / (2 * curvature * step * step)) * step;
    time += Math.max(-step, Math.min(step, shift));
    step /= 2;
  }
  const value = explained(time);
  const left = Math.max(sum - value, sum * 1e-14);
  const variance = left / (points - degree - 3);
  if (!(value > leastRatio * variance)) return null;
  const fitUncertainty = Math.sqrt((2 * variance) / -curvature);
  const shapeUncertainty = shapeShare * contactTime;
  const norm = shapeNorm(x, basis.values, basis.squaredNorm, shape, time, contactTime);
  return {
    time,
    standardUncertainty: Math.sqrt(fitUncertainty * fitUncertainty + shapeUncertainty * shapeUncertainty),
    speedLoss: 2 * Math.sqrt(value / norm),
  };
}

/** Takes the parabola out of the values; returns the sum of squares left. */
function removeBasis(values: Float64Array, basis: Float64Array, squaredNorm: Float64Array): number {
  const points = values.length;
  let sum = 0;
  for (let pass = 0; pass < 2; pass += 1) {
    for (let k = 0; k <= degree; k += 1) {
      const row = k * points;
      let projection = 0;
      for (let i = 0; i < points; i += 1) projection += (basis[row + i] as number) * (values[i] as number);
      const coefficient = projection / (squaredNorm[k] as number);
      sum = 0;
      for (let i = 0; i < points; i += 1) {
        const left = (values[i] as number) - coefficient * (basis[row + i] as number);
        values[i] = left;
        sum += left * left;
      }
    }
  }
  return sum;
}

function fillShape(x: Float64Array, shape: Float64Array, tau: number, contactTime: number): void {
  const rate = pi / contactTime;
  for (let i = 0; i < x.length; i += 1) {
    const s = (x[i] as number) - tau;
    if (s <= 0) shape[i] = 0;
    else shape[i] = s < contactTime ? s - sin(rate * s) / rate : contactTime + 2 * (s - contactTime);
  }
}

/** Squared length of the shape beside the parabola. */
function shapeNorm(
  x: Float64Array,
  basis: Float64Array,
  squaredNorm: Float64Array,
  shape: Float64Array,
  tau: number,
  contactTime: number,
): number {
  fillShape(x, shape, tau, contactTime);
  const points = x.length;
  let norm = 0;
  for (let i = 0; i < points; i += 1) norm += (shape[i] as number) * (shape[i] as number);
  for (let k = 0; k <= degree; k += 1) {
    let projection = 0;
    for (let i = 0; i < points; i += 1) projection += (basis[k * points + i] as number) * (shape[i] as number);
    norm -= (projection * projection) / (squaredNorm[k] as number);
  }
  return norm;
}

function explainedBy(
  x: Float64Array,
  residuals: Float64Array,
  basis: Float64Array,
  squaredNorm: Float64Array,
  shape: Float64Array,
  tau: number,
  contactTime: number,
): number {
  const norm = shapeNorm(x, basis, squaredNorm, shape, tau, contactTime);
  if (!(norm > 0)) return 0;
  let product = 0;
  for (let i = 0; i < x.length; i += 1) product += (shape[i] as number) * (residuals[i] as number);
  return (-product * Math.abs(product)) / norm;
}

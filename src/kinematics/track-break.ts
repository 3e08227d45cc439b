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
import { type OrthogonalBasis, orthogonalBasis } from './orthogonal-basis.ts';

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
  const abscissae = new Float64Array(points);
  for (let i = 0; i < points; i += 1) abscissae[i] = ((x[i] as number) - middle) / half;
  const basis = orthogonalBasis(abscissae, degree);
  const residuals = input.positions.slice(start, end);
  const sum = removeBasis(residuals, basis);
  const shaped: Shaped = { norm: 0, product: 0 };
  /** Explained sum of squares, negative when the cue would gain speed. */
  const explained = (tau: number) => {
    fitShape(x, residuals, basis, tau, contactTime, shaped);
    const { norm, product } = shaped;
    return norm > 0 ? (-product * Math.abs(product)) / norm : 0;
  };

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
  fitShape(x, residuals, basis, time, contactTime, shaped);
  return {
    time,
    standardUncertainty: Math.sqrt(fitUncertainty * fitUncertainty + shapeUncertainty * shapeUncertainty),
    speedLoss: 2 * Math.sqrt(value / shaped.norm),
  };
}

/** Takes the parabola out of the values; returns the sum of squares left. */
function removeBasis(residuals: Float64Array, { values, squaredNorm }: OrthogonalBasis): number {
  const points = residuals.length;
  let sum = 0;
  for (let pass = 0; pass < 2; pass += 1) {
    for (let k = 0; k <= degree; k += 1) {
      const row = k * points;
      let projection = 0;
      for (let i = 0; i < points; i += 1) projection += (values[row + i] as number) * (residuals[i] as number);
      const coefficient = projection / (squaredNorm[k] as number);
      sum = 0;
      for (let i = 0; i < points; i += 1) {
        const left = (residuals[i] as number) - coefficient * (values[row + i] as number);
        residuals[i] = left;
        sum += left * left;
      }
    }
  }
  return sum;
}

interface Shaped {
  /** Squared length of the shape beside the parabola. */
  norm: number;
  /** Its product with the residuals. */
  product: number;
}

/** The shape of a break at `tau`, written into `into`. It is zero before the break: those points add nothing. */
function fitShape(
  x: Float64Array,
  residuals: Float64Array,
  { values, squaredNorm }: OrthogonalBasis,
  tau: number,
  contactTime: number,
  into: Shaped,
): void {
  const rate = pi / contactTime;
  const points = x.length;
  let first = points;
  while (first > 0 && (x[first - 1] as number) - tau > 0) first -= 1;
  let squares = 0;
  let constant = 0;
  let linear = 0;
  let quadratic = 0;
  let product = 0;
  for (let i = first; i < points; i += 1) {
    const s = (x[i] as number) - tau;
    const shape = s < contactTime ? s - sin(rate * s) / rate : contactTime + 2 * (s - contactTime);
    squares += shape * shape;
    constant += shape;
    linear += (values[points + i] as number) * shape;
    quadratic += (values[2 * points + i] as number) * shape;
    product += shape * (residuals[i] as number);
  }
  let norm = squares;
  norm -= (constant * constant) / (squaredNorm[0] as number);
  norm -= (linear * linear) / (squaredNorm[1] as number);
  norm -= (quadratic * quadratic) / (squaredNorm[2] as number);
  into.norm = norm;
  into.product = product;
}

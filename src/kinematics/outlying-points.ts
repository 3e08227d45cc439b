/**
 * Outlying points of a polynomial fit (tracker jumps), found so that several of them cannot hide one another.
 *
 * 1. A fit of all points. When no residual exceeds 5 robust standard deviations (1.4826 times the median absolute
 *    residual) and no externally studentised residual is significant, nothing is outlying.
 * 2. Otherwise least trimmed squares: the tenth of the points with the largest residuals is set aside, the rest fitted,
 *    residuals taken anew, until the set stays the same (concentration steps; Rousseeuw & Van Driessen, Data Mining and
 *    Knowledge Discovery 12, 29 (2006) [from memory]). The start is the fit of the points that agree with a cubic
 *    through their four neighbours.
 * 3. Points set aside come back when their prediction error e / (s sqrt(1 + h)) is no more than chance, two-sided
 *    Student's t at `level` / n (Bonferroni), repeated until none does. For one point this is the externally studentised
 *    residual (Belsley, Kuh & Welsch, Regression Diagnostics (1980) [from memory]).
 */
import { normalQuantile, studentQuantile } from '../statistics/distributions.ts';
import { fitPolynomial, leverage, type PolynomialFit, valueAt } from './fit-polynomial.ts';

const robustLimit = 5;
const mostShare = 10;
const concentrationSteps = 10;

export interface OutlyingPoints {
  /** Fit of the points that are not outlying. */
  readonly fit: PolynomialFit;
  /** Indices of outlying points, increasing. */
  readonly indices: readonly number[];
}

/**
 * @param level probability of a false alarm in the whole fit
 * @param roundingSum sum of squared residuals that rounding alone can leave; below it nothing is called outlying
 */
export function outlyingPoints(
  x: Float64Array,
  y: Float64Array,
  degree: number,
  level: number,
  roundingSum: number,
): OutlyingPoints {
  const points = x.length;
  const full = fitPolynomial(x, y, degree);
  const most = Math.min(Math.floor(points / mostShare), points - degree - 4);
  const sum = full.residualSumsOfSquares[degree] as number;
  if (most < 1 || sum <= roundingSum) return { fit: full, indices: [] };
  if (!mayHoldOutlying(full, level)) return { fit: full, indices: [] };

  const aside = new Uint8Array(points);
  let fit = trimmedFit(x, y, degree, most, aside);
  for (let round = 0; round <= most; round += 1) {
    const variance = (fit.residualSumsOfSquares[degree] as number) / (fit.points - degree - 1);
    const roundFloor = roundingSum / points;
    const allowed = studentQuantile(1 - level / (2 * points), fit.points - degree - 1);
    let returned = 0;
    for (let i = 0; i < points; i += 1) {
      if (aside[i] === 0) continue;
      const { value, leverage: reach } = valueAt(fit, x[i] as number);
      const error = (y[i] as number) - value;
      if (error * error <= allowed * allowed * Math.max(variance, roundFloor) * (1 + reach)) {
        aside[i] = 0;
        returned += 1;
      }
    }
    if (returned === 0) break;
    fit = fitKept(x, y, degree, aside);
  }
  const indices: number[] = [];
  for (let i = 0; i < points; i += 1) if (aside[i] === 1) indices.push(i);
  return indices.length === 0 ? { fit: full, indices } : { fit, indices };
}

function mayHoldOutlying(fit: PolynomialFit, level: number): boolean {
  const { residuals, points, degree } = fit;
  const sum = fit.residualSumsOfSquares[degree] as number;
  const degrees = points - degree - 2;
  let largest = 0;
  let largestStudentised = 0;
  for (let i = 0; i < points; i += 1) {
    const residual = residuals[i] as number;
    const squared = residual * residual;
    if (squared > largest) largest = squared;
    // Only residuals of some size can be significant: the leverage is worth computing for these alone.
    if (squared * points < 4 * sum) continue;
    const left = sum * (1 - leverage(fit, i)) - squared;
    const studentised = left > 0 ? (squared * degrees) / left : Number.POSITIVE_INFINITY;
    if (studentised > largestStudentised) largestStudentised = studentised;
  }
  const chance = 1 - level / (2 * points);
  // The normal quantile, which costs little, lies below Student's.
  const lowest = normalQuantile(chance);
  if (largestStudentised > lowest * lowest) {
    const limit = studentQuantile(chance, degrees);
    if (largestStudentised > limit * limit) return true;
  }
  // The largest exceeds a multiple of the median when more than half are below that part of it: no sorting needed.
  const part = Math.sqrt(largest) / (robustLimit * 1.4826);
  let below = 0;
  for (let i = 0; i < points; i += 1) if (Math.abs(residuals[i] as number) < part) below += 1;
  return 2 * below > points;
}

/** Least trimmed squares by concentration; marks the points set aside. */
function trimmedFit(x: Float64Array, y: Float64Array, degree: number, most: number, aside: Uint8Array): PolynomialFit {
  markJumps(x, y, most, aside);
  let fit = fitKept(x, y, degree, aside);
  const sizes = new Float64Array(x.length);
  for (let step = 0; step < concentrationSteps; step += 1) {
    for (let i = 0; i < x.length; i += 1) sizes[i] = Math.abs((y[i] as number) - valueAt(fit, x[i] as number).value);
    const changed = markLargest(sizes, most, aside);
    if (!changed) break;
    fit = fitKept(x, y, degree, aside);
  }
  return fit;
}

/** Sets aside the points that agree least with the cubic through their four neighbours. */
function markJumps(x: Float64Array, y: Float64Array, most: number, aside: Uint8Array): void {
  const points = x.length;
  const sizes = new Float64Array(points);
  for (let i = 0; i < points; i += 1) {
    const from = Math.min(Math.max(0, i - 2), points - 5);
    let predicted = 0;
    for (let j = from; j < from + 5; j += 1) {
      if (j === i) continue;
      let weight = 1;
      for (let k = from; k < from + 5; k += 1) {
        if (k === i || k === j) continue;
        weight *= ((x[i] as number) - (x[k] as number)) / ((x[j] as number) - (x[k] as number));
      }
      predicted += weight * (y[j] as number);
    }
    // A cubic carried beyond its points predicts far worse than one between them.
    const spread = i < 2 || i > points - 3 ? 5 : 1;
    sizes[i] = Math.abs((y[i] as number) - predicted) / spread;
  }
  markLargest(sizes, most, aside);
}

/** Marks the `most` largest sizes, earlier points first among equals; tells whether the set changed. */
function markLargest(sizes: Float64Array, most: number, aside: Uint8Array): boolean {
  const sorted = sizes.slice().sort();
  const threshold = sorted[sizes.length - most] as number;
  let above = 0;
  for (let i = 0; i < sizes.length; i += 1) if ((sizes[i] as number) > threshold) above += 1;
  let atThreshold = most - above;
  let changed = false;
  for (let i = 0; i < sizes.length; i += 1) {
    const size = sizes[i] as number;
    const mark = size > threshold || (size === threshold && atThreshold > 0) ? 1 : 0;
    if (mark === 1 && size === threshold) atThreshold -= 1;
    if (aside[i] !== mark) changed = true;
    aside[i] = mark;
  }
  return changed;
}

function fitKept(x: Float64Array, y: Float64Array, degree: number, aside: Uint8Array): PolynomialFit {
  const keep = (_: number, i: number) => aside[i] === 0;
  return fitPolynomial(x.filter(keep), y.filter(keep), degree);
}

/**
 * One outlying point of a polynomial fit at a time, by its externally studentised residual
 *
 *   t_i = e_i sqrt( (n - q - 2) / (RSS (1 - h_ii) - e_i^2) )
 *
 * which follows Student's t with n - q - 2 degrees of freedom; a point is outlying when its two-sided p is below
 * `level` / n (Bonferroni). Source: Belsley, Kuh & Welsch, Regression Diagnostics (1980) [from memory].
 */
import { studentTwoSided } from '../statistics/distributions.ts';
import { leverage, type PolynomialFit, residualDegreesOfFreedom } from './fit-polynomial.ts';

/** No t of smaller size reaches the level with 8 points or more: saves evaluating the distribution. */
const leastSize = 3;

/**
 * Index of the most outlying point, or null when none is.
 *
 * @param level probability of a false alarm in the whole fit
 * @param roundingSum sum of squared residuals that rounding alone can leave; below it nothing is called outlying
 */
export function outlyingPoint(fit: PolynomialFit, level: number, roundingSum: number): number | null {
  const degrees = residualDegreesOfFreedom(fit) - 1;
  const sum = fit.residualSumsOfSquares[fit.degree] as number;
  if (degrees < 1 || sum <= roundingSum) return null;
  let worst = -1;
  let largest = leastSize * leastSize;
  for (let i = 0; i < fit.points; i += 1) {
    const residual = fit.residuals[i] as number;
    const squared = residual * residual;
    const left = sum * (1 - leverage(fit, i)) - squared;
    const square = left > 0 ? (squared * degrees) / left : Number.POSITIVE_INFINITY;
    if (square > largest) {
      largest = square;
      worst = i;
    }
  }
  if (worst < 0) return null;
  if (largest === Number.POSITIVE_INFINITY) return worst;
  return studentTwoSided(Math.sqrt(largest), degrees) < level / fit.points ? worst : null;
}

/**
 * Ordinary least squares of a polynomial, y = sum of c_k p_k(u) + error, on the abscissa mapped to
 * u = (x - centre) / halfWidth in [-1, 1], in a basis orthogonal over the points (no normal equations, no powers).
 */
import { basisDerivatives, type OrthogonalBasis, orthogonalBasis } from './orthogonal-basis.ts';

export interface PolynomialFit {
  readonly degree: number;
  readonly points: number;
  /** Middle of the abscissae, unit of x. */
  readonly centre: number;
  /** Half the range of the abscissae, unit of x. */
  readonly halfWidth: number;
  readonly basis: OrthogonalBasis;
  /** Coefficients c_k in the orthogonal basis, unit of y. */
  readonly coefficients: Float64Array;
  /** y minus the fit of the full degree, at each point. */
  readonly residuals: Float64Array;
  /** Sum of squared residuals of the fit of every degree 0..degree. */
  readonly residualSumsOfSquares: Float64Array;
}

/** Value and derivatives of a fit at one abscissa, d = 0..highest. */
export interface FittedDerivatives {
  /** d-th derivative, unit of y / unit of x^d. */
  readonly values: Float64Array;
  /** Covariance of the d-th and e-th derivative, index d * (highest + 1) + e. */
  readonly covariance: Float64Array;
}

/**
 * Fits the polynomial of `degree` to the points (x, y), in any order of x.
 *
 * @throws RangeError when there are not more distinct abscissae than `degree`, or the lengths differ
 */
export function fitPolynomial(x: Float64Array, y: Float64Array, degree: number): PolynomialFit {
  const points = x.length;
  if (points !== y.length) throw new RangeError('x and y have different lengths');
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < points; i += 1) {
    const value = x[i] as number;
    if (value < least) least = value;
    if (value > most) most = value;
  }
  const centre = least + (most - least) / 2;
  const halfWidth = most > least ? (most - least) / 2 : 1;
  const abscissae = new Float64Array(points);
  for (let i = 0; i < points; i += 1) abscissae[i] = ((x[i] as number) - centre) / halfWidth;
  const basis = orthogonalBasis(abscissae, degree);
  const residuals = Float64Array.from(y);
  const coefficients = new Float64Array(degree + 1);
  const residualSumsOfSquares = new Float64Array(degree + 1);
  const { values, squaredNorm } = basis;
  // Projecting what is left, not y, keeps the digits of small high coefficients beside a large low one; the second
  // pass takes out what rounding left in the directions already fitted. Each pass over the points takes one direction
  // out and projects what is left onto the next.
  let projection = 0;
  for (let i = 0; i < points; i += 1) projection += residuals[i] as number;
  for (let pass = 0; pass < 2; pass += 1) {
    for (let k = 0; k <= degree; k += 1) {
      const row = k * points;
      const nextRow = k === degree ? 0 : row + points;
      const step = projection / (squaredNorm[k] as number);
      coefficients[k] = (coefficients[k] as number) + step;
      projection = 0;
      let sum = 0;
      for (let i = 0; i < points; i += 1) {
        const left = (residuals[i] as number) - step * (values[row + i] as number);
        residuals[i] = left;
        sum += left * left;
        projection += (values[nextRow + i] as number) * left;
      }
      if (pass === 0 || k === degree) residualSumsOfSquares[k] = sum;
    }
  }
  return { degree, points, centre, halfWidth, basis, coefficients, residuals, residualSumsOfSquares };
}

/** Degrees of freedom of the residuals, points - degree - 1. */
export function residualDegreesOfFreedom(fit: PolynomialFit): number {
  return fit.points - fit.degree - 1;
}

/** Estimated variance of one observation, RSS / (points - degree - 1), unit of y squared; NaN without degrees of freedom. */
export function residualVariance(fit: PolynomialFit): number {
  return (fit.residualSumsOfSquares[fit.degree] as number) / residualDegreesOfFreedom(fit);
}

/** Residuals of a lower order: those of the fit with its higher terms put back. */
export function residualsOfOrder(fit: PolynomialFit, order: number): Float64Array {
  if (order === fit.degree) return fit.residuals;
  const residuals = Float64Array.from(fit.residuals);
  for (let k = order + 1; k <= fit.degree; k += 1) {
    const coefficient = fit.coefficients[k] as number;
    const row = k * fit.points;
    for (let i = 0; i < fit.points; i += 1) {
      residuals[i] = (residuals[i] as number) + coefficient * (fit.basis.values[row + i] as number);
    }
  }
  return residuals;
}

/** Leverage h_ii of point i: how far the fit follows that observation, 0..1. */
export function leverage(fit: PolynomialFit, i: number): number {
  let sum = 0;
  for (let k = 0; k <= fit.degree; k += 1) {
    const value = fit.basis.values[k * fit.points + i] as number;
    sum += (value * value) / (fit.basis.squaredNorm[k] as number);
  }
  return sum;
}

/** The fit at abscissa `x`, and the leverage a point would have there: variance of the value over that of one observation. */
export function valueAt(fit: PolynomialFit, x: number): { readonly value: number; readonly leverage: number } {
  const { alpha, beta, squaredNorm } = fit.basis;
  const u = (x - fit.centre) / fit.halfWidth;
  let before = 0;
  let current = 1;
  let value = fit.coefficients[0] as number;
  let sum = 1 / (squaredNorm[0] as number);
  for (let k = 0; k < fit.degree; k += 1) {
    const next = (u - (alpha[k] as number)) * current - (beta[k] as number) * before;
    before = current;
    current = next;
    value += (fit.coefficients[k + 1] as number) * current;
    sum += (current * current) / (squaredNorm[k + 1] as number);
  }
  return { value, leverage: sum };
}

/**
 * Value and derivatives up to `highest` of the fit at abscissa `x` (inside the points or beyond), with their
 * covariance: cov(d, e) = s^2 sum_k p_k^(d) p_k^(e) / <p_k, p_k>.
 *
 * @param variance variance of one observation; the residual variance of the fit when not given
 */
export function derivativesAt(
  fit: PolynomialFit,
  x: number,
  highest: number,
  variance: number = residualVariance(fit),
): FittedDerivatives {
  const table = basisDerivatives(fit.basis, (x - fit.centre) / fit.halfWidth, highest);
  const width = fit.degree + 1;
  const size = highest + 1;
  const values = new Float64Array(size);
  const covariance = new Float64Array(size * size);
  // The d-th derivative with respect to x is the one with respect to u over halfWidth^d.
  const scale = new Float64Array(size);
  for (let d = 0, power = 1; d < size; d += 1, power /= fit.halfWidth) scale[d] = power;
  for (let d = 0; d < size; d += 1) {
    // From the highest degree down: the small terms first.
    let value = 0;
    for (let k = fit.degree; k >= 0; k -= 1) {
      value += (fit.coefficients[k] as number) * (table[d * width + k] as number);
    }
    values[d] = value * (scale[d] as number);
    for (let e = 0; e <= d; e += 1) {
      let sum = 0;
      for (let k = fit.degree; k >= 0; k -= 1) {
        sum +=
          ((table[d * width + k] as number) * (table[e * width + k] as number)) / (fit.basis.squaredNorm[k] as number);
      }
      const entry = variance * sum * (scale[d] as number) * (scale[e] as number);
      covariance[d * size + e] = entry;
      covariance[e * size + d] = entry;
    }
  }
  return { values, covariance };
}

/**
 * Low-order trend curves for drawings: only coefficients, no inference, never stored or frozen. By
 * ml-regression-polynomial, which solves the normal equations of plain powers: good to about 9 digits at low order once
 * the abscissa is mapped to [-1, 1], useless on raw abscissae far from 0, so the map is made here.
 */
import { PolynomialRegression } from 'ml-regression-polynomial';

export interface TrendCurve {
  readonly degree: number;
  /** Coefficients of u^k, u = (x - centre) / halfWidth. */
  readonly coefficients: readonly number[];
  readonly centre: number;
  readonly halfWidth: number;
}

export const highestTrendDegree = 4;

/**
 * Trend of y over x.
 *
 * @returns null with fewer distinct abscissae than coefficients, or values that are not finite
 * @throws RangeError for a degree outside 1 to 4, or lists of different lengths
 */
export function trendCurve(x: ArrayLike<number>, y: ArrayLike<number>, degree: number): TrendCurve | null {
  if (!(Number.isInteger(degree) && degree >= 1 && degree <= highestTrendDegree))
    throw new RangeError(`degree ${degree}`);
  if (x.length !== y.length) throw new RangeError('x and y have different lengths');
  const abscissae = Array.from(x);
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const value of abscissae) {
    least = Math.min(least, value);
    most = Math.max(most, value);
  }
  if (new Set(abscissae).size <= degree) return null;
  const centre = least + (most - least) / 2;
  const halfWidth = (most - least) / 2;
  const mapped = abscissae.map((value) => (value - centre) / halfWidth);
  const { coefficients } = new PolynomialRegression(mapped, Array.from(y), degree);
  if (!coefficients.every(Number.isFinite)) return null;
  return { degree, coefficients, centre, halfWidth };
}

/** Value of the curve at x. */
export function trendValue(curve: TrendCurve, x: number): number {
  const u = (x - curve.centre) / curve.halfWidth;
  let value = 0;
  for (let k = curve.degree; k >= 0; k -= 1) value = value * u + (curve.coefficients[k] as number);
  return value;
}

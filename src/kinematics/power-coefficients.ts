/** The same fit in plain powers of x: y = B_0 + B_1 x + ... + B_q x^q. */
import { derivativesAt, type PolynomialFit, residualVariance } from './fit-polynomial.ts';

export interface PowerCoefficients {
  /** B_k, unit of y / unit of x^k. */
  readonly values: Float64Array;
  /** Covariance of B_j and B_k, index j * (degree + 1) + k. */
  readonly covariance: Float64Array;
}

/**
 * Coefficients in powers of (x - origin) with their covariance: B_k is the k-th derivative at the origin over k!, so
 * no power of x is ever formed.
 *
 * @param variance variance of one observation; the residual variance of the fit when not given
 */
export function powerCoefficients(
  fit: PolynomialFit,
  origin = 0,
  variance: number = residualVariance(fit),
): PowerCoefficients {
  const { values, covariance } = derivativesAt(fit, origin, fit.degree, variance);
  const size = fit.degree + 1;
  let rowFactorial = 1;
  for (let j = 0; j < size; j += 1) {
    if (j > 1) rowFactorial *= j;
    values[j] = (values[j] as number) / rowFactorial;
    let columnFactorial = 1;
    for (let k = 0; k < size; k += 1) {
      if (k > 1) columnFactorial *= k;
      covariance[j * size + k] = (covariance[j * size + k] as number) / (rowFactorial * columnFactorial);
    }
  }
  return { values, covariance };
}

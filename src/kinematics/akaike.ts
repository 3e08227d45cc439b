/** Choice among nested fits by the small-sample Akaike criterion. */
import exp from '@stdlib/math-base-special-exp';
import ln from '@stdlib/math-base-special-ln';

/**
 * AICc = n ln(RSS / n) + 2K + 2K(K + 1) / (n - K - 1), K = degree + 2 (coefficients and variance).
 * Source: Hurvich & Tsai, Biometrika 76, 297 (1989). Needs n > K + 1 and a positive residual sum of squares.
 */
export function aicc(points: number, degree: number, residualSumOfSquares: number): number {
  const parameters = degree + 2;
  return (
    points * ln(residualSumOfSquares / points) +
    2 * parameters +
    (2 * parameters * (parameters + 1)) / (points - parameters - 1)
  );
}

/** Akaike weights exp(-(AICc - least AICc) / 2), scaled to sum 1. */
export function akaikeWeights(criteria: readonly number[]): number[] {
  let least = Number.POSITIVE_INFINITY;
  for (const criterion of criteria) least = Math.min(least, criterion);
  const weights = criteria.map((criterion) => exp(-(criterion - least) / 2));
  let sum = 0;
  for (const weight of weights) sum += weight;
  return weights.map((weight) => weight / sum);
}

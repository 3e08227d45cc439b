import type { EstimatedDifference } from './paired-difference.ts';
import { pairedLeastSquares } from './paired-least-squares.ts';

export interface AdjustedDifference extends EstimatedDifference {
  /** Response per unit of leftover difference, one a matching variable; null when it was dropped. */
  readonly slopes: readonly (number | null)[];
}

/** Fewer degrees of freedom than this give no adjusted difference. */
const leastDegreesOfFreedom = 2;

/**
 * Difference that is left when both shots of a pair agree exactly in the matching variables: the intercept of least
 * squares of the pair differences on the within-pair differences of the matching variables (Rubin 1973, Biometrics
 * 29:185, regression adjustment on matched pair differences). n - 1 - k degrees of freedom for k variables kept;
 * variables whose leftover differences are all equal or collinear are dropped.
 * @param differences response, first minus second, one a pair
 * @param leftovers matching variables, first minus second, one column each
 * @param calipers of the matching variables, their natural scale
 * @returns null when fewer than two degrees of freedom remain
 */
export function adjustedDifference(
  differences: Float64Array,
  leftovers: readonly Float64Array[],
  calipers: readonly number[],
): AdjustedDifference | null {
  const fit = pairedLeastSquares(differences, leftovers, calipers);
  const degreesOfFreedom = differences.length - 1 - fit.predictorsKept;
  if (degreesOfFreedom < leastDegreesOfFreedom) return null;
  const variance = fit.residualSumOfSquares / degreesOfFreedom;
  return {
    estimate: fit.intercept,
    standardError: Math.sqrt(variance * fit.interceptLeverage),
    degreesOfFreedom,
    slopes: fit.slopes,
  };
}

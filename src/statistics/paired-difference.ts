import { studentQuantile, studentTwoSided } from './distributions.ts';

/** A difference with its standard error; (estimate - truth) / standardError follows Student's t. */
export interface EstimatedDifference {
  readonly estimate: number;
  readonly standardError: number;
  readonly degreesOfFreedom: number;
}

/**
 * Mean of n pair differences, standard error s / sqrt(n), n - 1 degrees of freedom ("Student" 1908, Biometrika 6:1).
 * @param differences first minus second of each pair, in any unit; n >= 2
 * @throws RangeError with fewer than two differences
 */
export function pairedDifference(differences: Float64Array): EstimatedDifference {
  const n = differences.length;
  if (n < 2) throw new RangeError('At least two pair differences are needed');
  const estimate = meanOf(differences);
  let squares = 0;
  for (let i = 0; i < n; i++) {
    const deviation = (differences[i] as number) - estimate;
    squares += deviation * deviation;
  }
  return { estimate, standardError: Math.sqrt(squares / (n - 1) / n), degreesOfFreedom: n - 1 };
}

/** Mean with one pass of correction, so that a large common offset costs no digits. */
export function meanOf(values: Float64Array): number {
  const n = values.length;
  let sum = 0;
  for (let i = 0; i < n; i++) sum += values[i] as number;
  const rough = sum / n;
  let rest = 0;
  for (let i = 0; i < n; i++) rest += (values[i] as number) - rough;
  return rough + rest / n;
}

/** Two-sided interval of the given confidence, in (0, 1). */
export function studentInterval(
  { estimate, standardError, degreesOfFreedom }: EstimatedDifference,
  confidence: number,
): { lower: number; upper: number } {
  const half = studentQuantile((1 + confidence) / 2, degreesOfFreedom) * standardError;
  return { lower: estimate - half, upper: estimate + half };
}

/** Two-sided p of a zero difference. */
export function differencePValue({ estimate, standardError, degreesOfFreedom }: EstimatedDifference): number {
  if (standardError === 0) return estimate === 0 ? 1 : 0;
  return studentTwoSided(estimate / standardError, degreesOfFreedom);
}

/** A value with its standard uncertainty, turned into a 95 % interval. */
import type { Estimate } from '../../shared/derivation.ts';
import { studentQuantile } from '../statistics/distributions.ts';

/** Two-sided 95 % quantile of the normal distribution. */
export const normalCoverage = 1.959963984540054;

/** Estimate with a normal 95 % interval. */
export function normalEstimate(value: number, standardUncertainty: number): Estimate {
  const half = normalCoverage * standardUncertainty;
  return { value, standardUncertainty, lower: value - half, upper: value + half };
}

/**
 * Estimate whose uncertainty is part estimated from residuals (type A, `degrees` of freedom), part known (type B).
 * Effective degrees of freedom by Welch and Satterthwaite, nu = u^4 / (u_A^4 / nu_A), and the coverage factor of
 * Student's t with them (GUM, JCGM 100:2008 G.4.1 eq. G.2b; from memory).
 *
 * @param typeA standard uncertainty from the fit; `typeB` from everything else; same unit as the value
 */
export function mixedEstimate(value: number, typeA: number, degrees: number, typeB: number): Estimate {
  const variance = typeA * typeA + typeB * typeB;
  const standardUncertainty = Math.sqrt(variance);
  if (!(typeA > 0)) return normalEstimate(value, standardUncertainty);
  const ratio = variance / (typeA * typeA);
  const effective = degrees * ratio * ratio;
  // Beyond this the t quantile is the normal one to four digits.
  const coverage = effective > 1e4 ? normalCoverage : studentQuantile(0.975, effective);
  const half = coverage * standardUncertainty;
  return { value, standardUncertainty, lower: value - half, upper: value + half };
}

/** Square root of the sum of squares. */
export function rootSumSquares(...parts: readonly number[]): number {
  let sum = 0;
  for (const part of parts) sum += part * part;
  return Math.sqrt(sum);
}

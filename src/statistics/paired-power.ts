/** Power of the two tests of a paired difference, with the noncentral distributions in full. */
import { normalCdf, studentQuantile } from './distributions.ts';
import { meanOverSpread } from './mean-over-spread.ts';

/** A test yet to be made: what the estimate will be like. */
export interface PlannedTest {
  /** True standard error of the estimate, in the unit of the difference; > 0. */
  readonly standardError: number;
  /** Of the estimated standard error. */
  readonly degreesOfFreedom: number;
  /** True difference. */
  readonly difference: number;
}

/**
 * Probability that two one-sided tests at level alpha establish |difference| < margin:
 * E[Phi((D - d)/se - t s) - Phi(-(D + d)/se + t s)]+ over the estimated spread s, the bivariate noncentral t
 * probability that Owen's Q gives (K. F. Phillips, J. Pharmacokin. Biopharm. 18 (1990) 137-144).
 * @param margin > 0, in the unit of the difference
 * @param alpha of each one-sided test, in (0, 0.5)
 */
export function equivalencePower(test: PlannedTest, margin: number, alpha: number): number {
  const { standardError, degreesOfFreedom, difference } = test;
  const critical = studentQuantile(1 - alpha, degreesOfFreedom);
  const upper = (margin - difference) / standardError;
  const lower = (-margin - difference) / standardError;
  const inside = (s: number): number => Math.max(0, normalCdf(upper - critical * s) - normalCdf(lower + critical * s));
  return meanOverSpread(degreesOfFreedom, inside, margin / standardError / critical);
}

/**
 * Probability that a two-sided test at level alpha finds the difference: noncentral t.
 * @param alpha of both sides together, in (0, 1)
 */
export function differencePower(test: PlannedTest, alpha: number): number {
  const { standardError, degreesOfFreedom, difference } = test;
  const critical = studentQuantile(1 - alpha / 2, degreesOfFreedom);
  const shift = difference / standardError;
  return meanOverSpread(degreesOfFreedom, (s) => normalCdf(shift - critical * s) + normalCdf(-shift - critical * s));
}

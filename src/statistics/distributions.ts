/**
 * Distribution functions, from stdlib: plain JavaScript, so the same bits on every machine and Node version
 * (the engine's own exp, log and pow differ between versions).
 */
import betaInc from '@stdlib/math-base-special-betainc';
import gammaInc from '@stdlib/math-base-special-gammainc';
import gammaIncInverse from '@stdlib/math-base-special-gammaincinv';
import normalCdfOf from '@stdlib/stats-base-dists-normal-cdf';
import normalQuantileOf from '@stdlib/stats-base-dists-normal-quantile';
import tCdfOf from '@stdlib/stats-base-dists-t-cdf';
import tQuantileOf from '@stdlib/stats-base-dists-t-quantile';

/** Standard normal distribution function at z. */
export function normalCdf(z: number): number {
  return normalCdfOf(z, 0, 1);
}

/** Standard normal quantile of probability p in (0, 1). */
export function normalQuantile(p: number): number {
  return normalQuantileOf(p, 0, 1);
}

/** Distribution function of Student's t with `degrees` (real, > 0) degrees of freedom. */
export function studentCdf(t: number, degrees: number): number {
  return tCdfOf(t, degrees);
}

/** Quantile of Student's t with `degrees` (real, > 0) degrees of freedom; p in (0, 1). */
export function studentQuantile(p: number, degrees: number): number {
  return tQuantileOf(p, degrees);
}

/** Two-sided p-value of a t statistic. */
export function studentTwoSided(t: number, degrees: number): number {
  return 2 * tCdfOf(-Math.abs(t), degrees);
}

/** Distribution function of chi-square with `degrees` (> 0) degrees of freedom. */
export function chiSquareCdf(value: number, degrees: number): number {
  return value <= 0 ? 0 : gammaInc(value / 2, degrees / 2, true, false);
}

/** Upper tail of chi-square with `degrees` (> 0) degrees of freedom. */
export function chiSquareUpper(value: number, degrees: number): number {
  return value <= 0 ? 1 : gammaInc(value / 2, degrees / 2, true, true);
}

/** Quantile of chi-square with `degrees` (> 0) degrees of freedom; p in (0, 1). */
export function chiSquareQuantile(p: number, degrees: number): number {
  return 2 * gammaIncInverse(p, degrees / 2, false);
}

/** Upper tail of F with `numerator` and `denominator` (real, > 0) degrees of freedom. */
export function fisherUpper(value: number, numerator: number, denominator: number): number {
  if (value <= 0) return 1;
  return betaInc(denominator / (denominator + numerator * value), denominator / 2, numerator / 2, true, false);
}

import { meanOf } from './paired-difference.ts';

/** Variance with n - 1; NaN for fewer than two values. */
export function varianceOf(values: Float64Array): number {
  if (values.length < 2) return Number.NaN;
  const mean = meanOf(values);
  let squares = 0;
  for (const value of values) squares += (value - mean) * (value - mean);
  return squares / (values.length - 1);
}

/** sqrt((s1^2 + s2^2) / 2) of two groups: what differences of their means are held against. */
export function pooledDeviation(first: Float64Array, second: Float64Array): number {
  return Math.sqrt((varianceOf(first) + varianceOf(second)) / 2);
}

/** Difference of means, first minus second, over a standard deviation; null where that is zero or unknown. */
export function standardisedDifference(first: Float64Array, second: Float64Array, deviation: number): number | null {
  return deviation > 0 ? (meanOf(first) - meanOf(second)) / deviation : null;
}

/** Variance of the first group over that of the second; null where either is zero or unknown. */
export function varianceRatio(first: Float64Array, second: Float64Array): number | null {
  const above = varianceOf(first);
  const below = varianceOf(second);
  return above > 0 && below > 0 ? above / below : null;
}

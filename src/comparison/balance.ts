import type { ComparisonResult, ComparisonSpecification } from '../../shared/comparison.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { meanOf } from '../statistics/paired-difference.ts';
import type { ContrastSides } from './contrast-sides.ts';
import type { MatchedPair } from './match-sides.ts';

/**
 * Standardised mean differences of the matching variables, first minus second: difference of means over
 * sqrt((s1^2 + s2^2) / 2), with the standard deviations of all shots of each side both before and after matching
 * (Austin 2009, Stat. Med. 28:3083). Null where neither side varies or one has a single shot.
 */
export function balance(
  { variables }: ShotColumns,
  sides: ContrastSides,
  pairs: readonly MatchedPair[],
  match: ComparisonSpecification['match'],
): ComparisonResult['balance'] {
  return match.map(({ variable }) => {
    const values = variables[variable];
    const of = (rows: ArrayLike<number>): Float64Array => Float64Array.from(rows, (row) => values[row] as number);
    const first = of(sides.first);
    const second = of(sides.second);
    const spread = Math.sqrt((varianceOf(first) + varianceOf(second)) / 2);
    if (!(spread > 0)) return { variable, before: null, after: null };
    const after = meanOf(of(pairs.map((pair) => pair.first))) - meanOf(of(pairs.map((pair) => pair.second)));
    return { variable, before: (meanOf(first) - meanOf(second)) / spread, after: after / spread };
  });
}

/** Variance with n - 1; NaN for fewer than two values. */
export function varianceOf(values: Float64Array): number {
  if (values.length < 2) return Number.NaN;
  const mean = meanOf(values);
  let squares = 0;
  for (const value of values) squares += (value - mean) * (value - mean);
  return squares / (values.length - 1);
}

import type { ComparisonResult } from '../../shared/comparison.ts';
import type { Balance } from '../../shared/comparison-pairs.ts';
import type { VariableName } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { meanOf } from '../statistics/paired-difference.ts';
import { pooledDeviation, standardisedDifference, varianceRatio } from '../statistics/standardised-difference.ts';
import type { ContrastSides } from './contrast-sides.ts';
import type { MatchedPair } from './match-sides.ts';

/**
 * Standardised mean differences of the matching variables, first minus second: difference of means over
 * sqrt((s1^2 + s2^2) / 2), with the standard deviations of all shots of each side both before and after matching
 * (Austin 2009, Stat. Med. 28:3083), beside the ratio of variances.
 */
export function balance(
  { variables }: ShotColumns,
  sides: ContrastSides,
  pairs: readonly MatchedPair[],
  matched: readonly VariableName[],
): Balance[] {
  return matched.map((variable) => {
    const values = variables[variable];
    const of = (rows: ArrayLike<number>): Float64Array => Float64Array.from(rows, (row) => values[row] as number);
    const [first, second] = [of(sides.first), of(sides.second)];
    const after = { first: of(pairs.map((pair) => pair.first)), second: of(pairs.map((pair) => pair.second)) };
    const spread = pooledDeviation(first, second);
    return {
      variable,
      before: standardisedDifference(first, second, spread),
      after: standardisedDifference(after.first, after.second, spread),
      varianceRatioBefore: varianceRatio(first, second),
      varianceRatioAfter: varianceRatio(after.first, after.second),
      meanDifference: meanOf(after.first) - meanOf(after.second),
    };
  });
}

/**
 * The square or product of matching variables that is least balanced after matching: means may agree where spreads or
 * correlations do not.
 */
export function worstProduct(
  { variables }: ShotColumns,
  sides: ContrastSides,
  pairs: readonly MatchedPair[],
  matched: readonly VariableName[],
): ComparisonResult['worstProduct'] {
  const centres = matched.map((variable) => {
    const values = variables[variable];
    return meanOf(Float64Array.from([...sides.first, ...sides.second], (row) => values[row] as number));
  });
  let worst: ComparisonResult['worstProduct'] = null;
  matched.forEach((one, i) => {
    matched.slice(i).forEach((other, step) => {
      // About the overall means: else a product would mostly repeat the plain differences.
      const product = (row: number): number =>
        ((variables[one][row] as number) - (centres[i] as number)) *
        ((variables[other][row] as number) - (centres[i + step] as number));
      const of = (rows: ArrayLike<number>): Float64Array => Float64Array.from(rows, product);
      const [first, second] = [of(sides.first), of(sides.second)];
      const spread = pooledDeviation(first, second);
      const after = standardisedDifference(
        of(pairs.map((pair) => pair.first)),
        of(pairs.map((pair) => pair.second)),
        spread,
      );
      if (after === null || (worst !== null && Math.abs(after) <= Math.abs(worst.after))) return;
      const term = step === 0 ? `${one}^2` : `${one}*${other}`;
      worst = { term, before: standardisedDifference(first, second, spread), after };
    });
  });
  return worst;
}

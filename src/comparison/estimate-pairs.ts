import type { ComparisonSpecification } from '../../shared/comparison.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { type AdjustedDifference, adjustedDifference } from '../statistics/paired-adjustment.ts';
import { type EstimatedDifference, pairedDifference } from '../statistics/paired-difference.ts';
import type { MatchedPair } from './match-sides.ts';

export interface PairEstimates {
  /** Response, first minus second, one a pair. */
  readonly differences: Float64Array;
  /** Matching variables, first minus second, in the order of the specification. */
  readonly leftovers: readonly Float64Array[];
  readonly raw: EstimatedDifference;
  readonly adjusted: AdjustedDifference | null;
  /** The figure to quote: adjusted where there is one. */
  readonly quoted: EstimatedDifference;
}

/** Raw and adjusted paired difference of the response; at least two pairs. */
export function estimatePairs(
  { variables }: ShotColumns,
  pairs: readonly MatchedPair[],
  { response, match }: Pick<ComparisonSpecification, 'response' | 'match'>,
): PairEstimates {
  const within = (values: Float64Array): Float64Array =>
    Float64Array.from(pairs, ({ first, second }) => (values[first] as number) - (values[second] as number));
  const differences = within(variables[response]);
  const leftovers = match.map(({ variable }) => within(variables[variable]));
  const raw = pairedDifference(differences);
  const adjusted = adjustedDifference(
    differences,
    leftovers,
    match.map(({ caliper }) => caliper),
  );
  return { differences, leftovers, raw, adjusted, quoted: adjusted ?? raw };
}

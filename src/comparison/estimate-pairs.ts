import type { ComparisonSpecification } from '../../shared/comparison-specification.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { clusteredDifference } from '../statistics/clustered-difference.ts';
import { type AdjustedDifference, adjustedDifference } from '../statistics/paired-adjustment.ts';
import { type EstimatedDifference, pairedDifference } from '../statistics/paired-difference.ts';
import type { MatchedPair } from './match-sides.ts';
import { type PairClusters, pairClusters } from './pair-clusters.ts';
import type { ResolvedCaliper } from './resolve-calipers.ts';

export interface PairEstimates {
  /** Response, first minus second, one a pair. */
  readonly differences: Float64Array;
  /** The same less what leftover differences are worth; null without an adjusted difference. */
  readonly adjustedDifferences: Float64Array | null;
  /**
   * What signed ranks look at: the adjusted pair differences, stretched about their mean so that the mean has the standard
   * error of the adjusted difference. As they are, they lie too close together, because the slopes were fitted to them.
   * The raw ones without an adjusted difference.
   */
  readonly rankable: Float64Array;
  /** Matching variables, first minus second, in the order of the specification. */
  readonly leftovers: readonly Float64Array[];
  readonly raw: EstimatedDifference;
  readonly adjusted: AdjustedDifference | null;
  readonly clusters: PairClusters | null;
  /** With errors clustered; null where the clusters do not support it. */
  readonly clusteredRaw: EstimatedDifference | null;
  readonly clusteredAdjusted: EstimatedDifference | null;
  /** The figure to quote: adjusted where there is one, clustered where there are clusters. */
  readonly quoted: EstimatedDifference;
  readonly quotedOf: 'raw' | 'adjusted';
  readonly quotedBy: PairClusters['by'] | null;
}

/** A spread of pair differences below this part of their size is rounding. */
const noSpread = 1e-12;

/** Raw and adjusted paired difference of the response, pairs independent and clustered; at least two pairs. */
export function estimatePairs(
  columns: ShotColumns,
  pairs: readonly MatchedPair[],
  calipers: readonly ResolvedCaliper[],
  { response, clusterBy }: Pick<ComparisonSpecification, 'response' | 'clusterBy'>,
): PairEstimates {
  const { variables } = columns;
  const within = (values: Float64Array): Float64Array =>
    Float64Array.from(pairs, ({ first, second }) => (values[first] as number) - (values[second] as number));
  const differences = within(variables[response]);
  const leftovers = calipers.map(({ variable }) => within(variables[variable]));
  const scales = calipers.map(({ scale }) => scale);
  const raw = pairedDifference(differences);
  const adjusted = adjustedDifference(differences, leftovers, scales);
  const clusters = pairClusters(columns, pairs, clusterBy);
  const clustered = (kept: readonly number[]): EstimatedDifference | null =>
    clusters === null
      ? null
      : clusteredDifference(
          differences,
          kept.map((place) => leftovers[place] as Float64Array),
          kept.map((place) => scales[place] as number),
          clusters,
        );
  const clusteredRaw = clustered([]);
  const clusteredAdjusted =
    adjusted === null ? null : clustered(adjusted.slopes.flatMap((slope, place) => (slope === null ? [] : [place])));
  const [independent, robust] = adjusted === null ? [raw, clusteredRaw] : [adjusted, clusteredAdjusted];
  const adjustedDifferences = adjusted === null ? null : adjustedPairs(differences, leftovers, adjusted.slopes);
  return {
    differences,
    adjustedDifferences,
    rankable:
      adjusted === null || adjustedDifferences === null ? differences : stretched(adjustedDifferences, adjusted),
    leftovers,
    raw,
    adjusted,
    clusters,
    clusteredRaw,
    clusteredAdjusted,
    quoted: robust === null ? independent : { ...robust, estimate: independent.estimate },
    quotedOf: adjusted === null ? 'raw' : 'adjusted',
    quotedBy: robust === null ? null : (clusters as PairClusters).by,
  };
}

/** Whether the pair differences vary at all; if not, nothing can be said about their spread. */
export function hasSpread({ differences, raw, quoted }: PairEstimates): boolean {
  const largest = differences.reduce((most, difference) => Math.max(most, Math.abs(difference)), 0);
  return raw.standardError > noSpread * largest && quoted.standardError > noSpread * largest;
}

function stretched(values: Float64Array, { estimate, standardError }: AdjustedDifference): Float64Array {
  const own = pairedDifference(values).standardError;
  const factor = own > 0 ? standardError / own : 1;
  return values.map((value) => estimate + factor * (value - estimate));
}

function adjustedPairs(
  differences: Float64Array,
  leftovers: readonly Float64Array[],
  slopes: readonly (number | null)[],
): Float64Array {
  return differences.map((difference, pair) => {
    let rest = difference;
    leftovers.forEach((leftover, place) => {
      rest -= (slopes[place] ?? 0) * (leftover[pair] as number);
    });
    return rest;
  });
}

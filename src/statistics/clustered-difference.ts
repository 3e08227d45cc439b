import { clusterRobust } from './cluster-robust.ts';
import { leastSquares } from './least-squares.ts';
import { chunkSize, momentsByGroup, type Segment } from './moments.ts';
import type { EstimatedDifference } from './paired-difference.ts';

export interface Clusters {
  /** Cluster 0 .. count - 1 of each pair. */
  readonly codes: Int32Array;
  readonly count: number;
}

/**
 * Mean pair difference, adjusted for leftover differences, with the CR2 error of pairs that err together within
 * clusters and Satterthwaite degrees of freedom (Bell & McCaffrey 2002; see cluster-robust.ts).
 * @param differences response, first minus second, one a pair
 * @param leftovers matching variables to adjust for, first minus second; none for the raw difference
 * @param scales natural size of each leftover, > 0
 * @returns null with fewer than two clusters, or when the pairs do not support the fit
 */
export function clusteredDifference(
  differences: Float64Array,
  leftovers: readonly Float64Array[],
  scales: readonly number[],
  clusters: Clusters,
): EstimatedDifference | null {
  if (clusters.count < 2) return null;
  const width = leftovers.length + 1;
  const { order, segments } = rowsByCluster(clusters);
  const moments = momentsByGroup(
    width,
    (block, from, to) => {
      for (let at = from; at < to; at += 1) {
        const row = order[at] as number;
        for (let k = 0; k < leftovers.length; k += 1) {
          (block[k] as Float64Array)[at - from] = (leftovers[k]?.[row] as number) / (scales[k] as number);
        }
        (block[width - 1] as Float64Array)[at - from] = differences[row] as number;
      }
    },
    segments,
    clusters.count,
  );
  const outcome = leastSquares(moments, 'pooled');
  if (!outcome.ok) return null;
  const { means, slopes, predictors } = outcome.fit;
  // The value of the fit where both shots of a pair agree: from the means down to zero.
  const contrast = { atMeans: 1, slopes: Float64Array.from({ length: predictors }, (_, k) => -(means[k] as number)) };
  let estimate = means[predictors] as number;
  for (let k = 0; k < predictors; k += 1) estimate -= (slopes[k] as number) * (means[k] as number);
  const robust = clusterRobust(outcome.fit, moments, [contrast])[0];
  if (robust === undefined || !(robust.cr2 > 0) || !(robust.degreesOfFreedom > 0)) return null;
  return { estimate, standardError: Math.sqrt(robust.cr2), degreesOfFreedom: robust.degreesOfFreedom };
}

/** Rows of one cluster next to each other, in their order; segments of at most a chunk. */
function rowsByCluster({ codes, count }: Clusters): { order: Int32Array; segments: Segment[] } {
  const order = Int32Array.from(codes, (_, row) => row).sort(
    (a, b) => (codes[a] as number) - (codes[b] as number) || a - b,
  );
  const sizes = new Int32Array(count);
  for (const code of codes) sizes[code] = (sizes[code] as number) + 1;
  const segments: Segment[] = [];
  let from = 0;
  sizes.forEach((size, group) => {
    for (let start = from; start < from + size; start += chunkSize) {
      segments.push({ group, from: start, to: Math.min(start + chunkSize, from + size) });
    }
    from += size;
  });
  return { order, segments };
}

import { type Assignment, assign } from './assign.ts';
import { type Caliper, narrowCandidates, widestReach } from './caliper.ts';
import { caliperSlack, candidatePairs, type Points } from './candidate-pairs.ts';
import { countTies } from './count-ties.ts';
import { costScale, type SparseCosts } from './sparse-costs.ts';

export interface Matching {
  readonly pairs: readonly { readonly first: number; readonly second: number; readonly distance: number }[];
  /** Pairs that could have taken another point at the same total distance. */
  readonly ties: number;
  /** Candidates within the calipers of each point; 0 tells why a point stayed single. */
  readonly candidatesOfFirst: Int32Array;
  readonly candidatesOfSecond: Int32Array;
  /** The problem in whole numbers, its solution and the proof of optimality, for checkCertificate. */
  readonly costs: SparseCosts;
  readonly assignment: Assignment;
  /** Whole-number cost over distance. */
  readonly scale: number;
}

/**
 * Exact optimal matching: as many pairs as the calipers allow, and among those the least total distance
 * sqrt(sum (difference / caliper)^2), as whole-number costs round(distance * 2^k) with the largest k <= 36 that keeps
 * the arithmetic exact. Points are paired only within one group, so groups are independent problems: no edge and no
 * augmenting path leads from one to another. The points must come in one agreed order; ties then fall one way.
 *
 * Example: matchPairs of speeds [1, 2] with [1.05, 2.5] within 0.1 gives the one pair (0, 0) at distance 0.5.
 * @param worth distance above which a pair costs more than it is worth; without it every pair counts
 * @param onProgress told now and then which share of the first side is settled, from 0 to 1
 */
export function matchPairs(
  first: Points,
  second: Points,
  calipers: readonly Caliper[],
  worth?: number,
  onProgress?: (share: number) => void,
): Matching {
  const wide = candidatePairs(first, second, calipers.map(widestReach));
  const { start, column, distance } = narrowCandidates(wide, first, second, calipers);
  const largest = Math.sqrt(calipers.length) * (1 + 2 * caliperSlack);
  const scale = costScale(largest, Math.min(first.count, second.count));
  const cost = distance.map((value) => Math.round(value * scale));
  const costs: SparseCosts = { rows: first.count, columns: second.count, start, column, cost };
  const assignment = assign(costs, worth === undefined ? undefined : Math.round(worth * scale), onProgress);

  const candidatesOfSecond = new Int32Array(second.count);
  for (const j of column) candidatesOfSecond[j] = (candidatesOfSecond[j] as number) + 1;
  const candidatesOfFirst = new Int32Array(first.count);
  const pairs: Matching['pairs'][number][] = [];
  for (let i = 0; i < first.count; i++) {
    const from = start[i] as number;
    const to = start[i + 1] as number;
    candidatesOfFirst[i] = to - from;
    const j = assignment.columnOfRow[i] as number;
    if (j < 0) continue;
    const at = column.subarray(from, to).indexOf(j);
    pairs.push({ first: i, second: j, distance: distance[from + at] as number });
  }
  return { pairs, ties: countTies(costs, assignment), candidatesOfFirst, candidatesOfSecond, costs, assignment, scale };
}

/**
 * Wilcoxon's signed-rank test of pair differences (F. Wilcoxon, Biometrics Bull. 1 (1945) 80-83). Equal sizes share
 * their mean rank; ranks are held doubled, so that they are whole numbers and the null distribution can be counted.
 */
import { normalCdf } from './distributions.ts';

/**
 * Differences of zero carry no sign. `dropped`: left out before ranking (Wilcoxon). `rankedThenDropped`: they take the
 * lowest ranks, which are then left out (J. W. Pratt, J. Am. Stat. Assoc. 54 (1959) 655-667).
 */
export type ZeroRule = 'dropped' | 'rankedThenDropped';

export interface SignedRanks {
  /** Twice the rank of each nonzero difference, in the order of size. */
  readonly doubledRanks: Float64Array;
  /** Twice the sum of the ranks of the positive ones. */
  readonly doubledStatistic: number;
  readonly zeros: number;
  /** Nonzero differences that share their size with another. */
  readonly tied: number;
}

export interface SignedRankTest {
  /** Sum of the ranks of the positive differences. */
  readonly statistic: number;
  readonly zeros: number;
  readonly tied: number;
  /** Counted over all signs given the ranks, or by the normal approximation with continuity correction. */
  readonly exact: boolean;
  readonly pTwoSided: number;
  readonly pGreater: number;
  readonly pLess: number;
}

/** Most nonzero differences for which the null distribution is counted out. */
export const mostExact = 200;
/** Sizes that agree to this part of the largest are taken as equal: their difference is rounding. */
const rounding = 1e-12;

/** Ranks of the sizes, with midranks for ties. */
export function signedRanks(differences: Float64Array, rule: ZeroRule): SignedRanks {
  const largest = differences.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const tolerance = rounding * largest;
  const nonzero = differences.filter((value) => Math.abs(value) > tolerance);
  const zeros = differences.length - nonzero.length;
  const bySize = nonzero.sort((a, b) => Math.abs(a) - Math.abs(b));
  const n = bySize.length;
  const before = rule === 'dropped' ? 0 : zeros;
  const doubledRanks = new Float64Array(n);
  let doubledStatistic = 0;
  let tied = 0;
  for (let from = 0; from < n; ) {
    let to = from + 1;
    while (to < n && Math.abs(bySize[to] as number) - Math.abs(bySize[to - 1] as number) <= tolerance) to += 1;
    const doubled = 2 * before + from + 1 + to;
    for (let place = from; place < to; place += 1) {
      doubledRanks[place] = doubled;
      if ((bySize[place] as number) > 0) doubledStatistic += doubled;
    }
    if (to - from > 1) tied += to - from;
    from = to;
  }
  return { doubledRanks, doubledStatistic, zeros, tied };
}

/**
 * Tests that the differences are symmetric about zero. Exact, given ranks and ties, up to 200 nonzero differences.
 * p is 1 when every difference is zero.
 */
export function signedRankTest(differences: Float64Array, rule: ZeroRule = 'dropped'): SignedRankTest {
  const ranks = signedRanks(differences, rule);
  const exact = ranks.doubledRanks.length <= mostExact;
  const { pGreater, pLess } = exact ? countedTails(ranks, 0.5) : normalTails(ranks);
  return {
    statistic: ranks.doubledStatistic / 2,
    zeros: ranks.zeros,
    tied: ranks.tied,
    exact,
    pTwoSided: Math.min(1, 2 * Math.min(pGreater, pLess)),
    pGreater,
    pLess,
  };
}

/**
 * P(T >= t) and P(T <= t) when each difference is positive with probability `positive`, by adding one rank at a time
 * to the distribution of the sum.
 */
export function countedTails(
  { doubledRanks, doubledStatistic }: SignedRanks,
  positive: number,
): { pGreater: number; pLess: number } {
  const probabilities = rankSumDistribution(doubledRanks, positive);
  let pGreater = 0;
  let pLess = 0;
  for (let sum = probabilities.length - 1; sum >= doubledStatistic; sum -= 1) pGreater += probabilities[sum] as number;
  for (let sum = 0; sum <= doubledStatistic; sum += 1) pLess += probabilities[sum] as number;
  return { pGreater: Math.min(1, pGreater), pLess: Math.min(1, pLess) };
}

/** Probability of each sum 0, 1, ... of whole-number ranks, each counted with probability `positive`. */
export function rankSumDistribution(ranks: ArrayLike<number>, positive: number): Float64Array {
  let total = 0;
  for (let place = 0; place < ranks.length; place += 1) total += ranks[place] as number;
  const probabilities = new Float64Array(total + 1);
  probabilities[0] = 1;
  let reached = 0;
  for (let place = 0; place < ranks.length; place += 1) {
    const rank = ranks[place] as number;
    reached += rank;
    for (let sum = reached; sum >= 0; sum -= 1) {
      const without = (probabilities[sum] as number) * (1 - positive);
      probabilities[sum] = sum < rank ? without : without + (probabilities[sum - rank] as number) * positive;
    }
  }
  return probabilities;
}

/** Normal approximation with continuity correction; ties and zeros enter through the ranks: var T = sum r^2 / 4. */
export function normalTails({ doubledRanks, doubledStatistic }: SignedRanks): { pGreater: number; pLess: number } {
  let sum = 0;
  let squares = 0;
  for (const doubled of doubledRanks) {
    sum += doubled / 2;
    squares += (doubled / 2) * (doubled / 2);
  }
  if (squares === 0) return { pGreater: 1, pLess: 1 };
  const deviation = doubledStatistic / 2 - sum / 2;
  const error = Math.sqrt(squares) / 2;
  return { pGreater: normalCdf(-(deviation - 0.5) / error), pLess: normalCdf((deviation + 0.5) / error) };
}

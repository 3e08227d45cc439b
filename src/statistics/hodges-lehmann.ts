import { normalQuantile } from './distributions.ts';
import { mostExact, rankSumDistribution } from './signed-rank.ts';
import { WalshAverages } from './walsh-averages.ts';

export interface HodgesLehmann {
  /** Median of the Walsh averages of all differences, zeros included. */
  readonly estimate: number;
  readonly interval: { readonly lower: number; readonly upper: number };
  /** Confidence that the interval really has when no two differences are equal; ties only make it more. */
  readonly achieved: number;
  /** By the counted null distribution, or its normal approximation. */
  readonly exact: boolean;
}

/**
 * Centre of symmetric differences with the interval that inverts the signed-rank test: the k-th smallest and k-th largest
 * Walsh average, P(T <= k - 1) < (1 - confidence) / 2 <= P(T <= k) (J. L. Hodges & E. L. Lehmann, Ann. Math. Stat. 34
 * (1963) 598-611; M. Hollander & D. A. Wolfe, Nonparametric Statistical Methods, ch. 3).
 * @param differences n >= 1
 * @param confidence in (0, 1); not reached with very few differences, see `achieved`
 */
export function hodgesLehmann(differences: Float64Array, confidence: number): HodgesLehmann {
  const averages = new WalshAverages(differences);
  const exact = differences.length <= mostExact;
  const { place, tail } = exact
    ? countedPlace(differences.length, (1 - confidence) / 2)
    : normalPlace(differences.length, (1 - confidence) / 2);
  return {
    estimate: averages.median(),
    interval: { lower: averages.at(place), upper: averages.at(averages.count + 1 - place) },
    achieved: 1 - 2 * tail,
    exact,
  };
}

/** k >= 1, and P(T <= k - 1). */
function countedPlace(n: number, alpha: number): { place: number; tail: number } {
  const probabilities = rankSumDistribution(
    Int32Array.from({ length: n }, (_, i) => i + 1),
    0.5,
  );
  let place = 1;
  let tail = probabilities[0] as number;
  while (tail + (probabilities[place] as number) < alpha) {
    tail += probabilities[place] as number;
    place += 1;
  }
  return { place, tail };
}

function normalPlace(n: number, alpha: number): { place: number; tail: number } {
  const mean = (n * (n + 1)) / 4;
  const deviation = Math.sqrt((n * (n + 1) * (2 * n + 1)) / 24);
  return { place: Math.max(1, Math.floor(mean + normalQuantile(alpha) * deviation)), tail: alpha };
}

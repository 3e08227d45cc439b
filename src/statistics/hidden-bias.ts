/**
 * How large a hidden bias would have to be to take a matched finding away (P. R. Rosenbaum, Observational Studies,
 * 2nd ed. 2002, chapter 4). Within a pair, the odds of which shot is on the first side may be off by up to a factor
 * Gamma for reasons that nobody recorded; then each difference is positive with probability of at most
 * Gamma / (1 + Gamma) although the contrast does nothing.
 */
import { normalCdf, normalQuantile } from './distributions.ts';
import { bracketAbove, findRoot } from './find-root.ts';
import { countedTails, type SignedRanks, signedRanks } from './signed-rank.ts';
import { WalshAverages } from './walsh-averages.ts';

/** Up to so many pairs the worst case is counted out; above it is taken from the normal distribution. */
const mostCounted = 50;
const accuracy = 1e-9;

/**
 * Largest one-sided p of "the differences are not above zero" under a hidden bias of up to `gamma`. Zeros are ranked, then
 * dropped.
 * @param gamma odds, >= 1
 */
export function worstCaseP(differences: Float64Array, gamma: number): number {
  return worstP(signedRanks(differences, 'rankedThenDropped'), gamma);
}

/**
 * The same by the normal approximation, T ~ N(p sum r, p (1 - p) sum r^2) with p = gamma / (1 + gamma) and no continuity
 * correction, as the published tables have it.
 */
export function worstCaseNormalP(differences: Float64Array, gamma: number): number {
  return normalP(signedRanks(differences, 'rankedThenDropped'), gamma);
}

/**
 * Largest Gamma at which the worst case still has p <= alpha.
 * @returns null when p > alpha even without hidden bias
 */
export function toleratedBias(differences: Float64Array, alpha: number): number | null {
  const ranks = signedRanks(differences, 'rankedThenDropped');
  const excess = (gamma: number): number => worstP(ranks, gamma) - alpha;
  if (ranks.doubledRanks.length === 0 || excess(1) > 0) return null;
  const high = bracketAbove(excess, 2);
  return high === null ? null : findRoot(excess, 1, high, accuracy);
}

export interface BiasedEffect {
  /** Hodges-Lehmann estimates that a hidden bias of up to Gamma could have produced, from smallest to largest. */
  readonly estimates: { readonly lower: number; readonly upper: number };
  /** From the lower confidence limit of the smallest to the upper one of the largest. */
  readonly interval: { readonly lower: number; readonly upper: number };
}

/** Range of the additive effect under a hidden bias of up to `gamma`; the ordinary estimate at gamma = 1. */
export function effectUnderBias(differences: Float64Array, gamma: number, confidence: number): BiasedEffect {
  const n = differences.length;
  const averages = new WalshAverages(differences);
  const most = gamma / (1 + gamma);
  const squares = (n * (n + 1) * (2 * n + 1)) / 6;
  const reach = normalQuantile((1 + confidence) / 2) * Math.sqrt(most * (1 - most) * squares);
  /** The shift at which so many Walsh averages (counted from the largest) lie above it. */
  const shiftAt = (above: number): number => {
    const from = (place: number): number =>
      averages.at(averages.count + 1 - Math.min(averages.count, Math.max(1, place)));
    return (from(Math.floor(above) + 1) + from(Math.ceil(above))) / 2;
  };
  return {
    estimates: { lower: shiftAt(most * averages.count), upper: shiftAt((1 - most) * averages.count) },
    interval: {
      lower: shiftAt(most * averages.count + reach),
      upper: shiftAt((1 - most) * averages.count - reach),
    },
  };
}

function worstP(ranks: SignedRanks, gamma: number): number {
  if (ranks.doubledRanks.length > mostCounted) return normalP(ranks, gamma);
  return countedTails(ranks, gamma / (1 + gamma)).pGreater;
}

function normalP({ doubledRanks, doubledStatistic }: SignedRanks, gamma: number): number {
  const most = gamma / (1 + gamma);
  let sum = 0;
  let squares = 0;
  for (const doubled of doubledRanks) {
    sum += doubled / 2;
    squares += (doubled / 2) * (doubled / 2);
  }
  return normalCdf(-(doubledStatistic / 2 - most * sum) / Math.sqrt(most * (1 - most) * squares));
}

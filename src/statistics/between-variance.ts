/**
 * Variance tau2 between the true effects of k labs, from estimates y_g with known variances v_g.
 * w_g = 1 / (v_g + tau2), mu = sum w y / sum w, Q(tau2) = sum w (y - mu)^2.
 */
import ln from '@stdlib/math-base-special-ln';
import { chiSquareQuantile } from './distributions.ts';
import { bracketAbove, findRoot } from './find-root.ts';

export const betweenVarianceMethods = ['REML', 'DL', 'PM', 'ML'] as const;
/** Restricted maximum likelihood, DerSimonian-Laird, Paule-Mandel, maximum likelihood. */
export type BetweenVarianceMethod = (typeof betweenVarianceMethods)[number];

export interface WeightedMean {
  readonly mean: number;
  readonly totalWeight: number;
  /** sum w^2, and sum w (y - mean)^2. */
  readonly squaredWeight: number;
  readonly heterogeneity: number;
}

export function weightedMean(estimates: readonly number[], variances: readonly number[], tau2: number): WeightedMean {
  let totalWeight = 0;
  let squaredWeight = 0;
  let weighted = 0;
  const first = estimates[0] as number;
  // Plain loops: with hundreds of labs this is called some hundred thousand times.
  for (let g = 0; g < estimates.length; g += 1) {
    const weight = 1 / ((variances[g] as number) + tau2);
    totalWeight += weight;
    squaredWeight += weight * weight;
    weighted += weight * ((estimates[g] as number) - first);
  }
  const mean = first + weighted / totalWeight;
  let heterogeneity = 0;
  for (let g = 0; g < estimates.length; g += 1) {
    const away = (estimates[g] as number) - mean;
    heterogeneity += (away * away) / ((variances[g] as number) + tau2);
  }
  return { mean, totalWeight, squaredWeight, heterogeneity };
}

/** tau2 by the named method; at least two labs. */
export function betweenVariance(
  estimates: readonly number[],
  variances: readonly number[],
  method: BetweenVarianceMethod,
): number {
  switch (method) {
    case 'DL':
      return derSimonianLaird(estimates, variances);
    case 'PM':
      return pauleMandel(estimates, variances);
    case 'REML':
      return likeliest(estimates, variances, true);
    case 'ML':
      return likeliest(estimates, variances, false);
  }
}

/** DerSimonian & Laird 1986, Controlled Clin. Trials 7:177. */
function derSimonianLaird(estimates: readonly number[], variances: readonly number[]): number {
  const { totalWeight, squaredWeight, heterogeneity } = weightedMean(estimates, variances, 0);
  return Math.max(0, (heterogeneity - (estimates.length - 1)) / (totalWeight - squaredWeight / totalWeight));
}

/** Paule & Mandel 1982, J. Res. NBS 87:377: the root of Q(tau2) = k - 1. */
function pauleMandel(estimates: readonly number[], variances: readonly number[]): number {
  return heterogeneityRoot(estimates, variances, estimates.length - 1) ?? 0;
}

/** tau2 at which Q falls to `target`; null when it is below it at 0 already. */
function heterogeneityRoot(estimates: readonly number[], variances: readonly number[], target: number): number | null {
  const below = (tau2: number) => target - weightedMean(estimates, variances, tau2).heterogeneity;
  if (below(0) >= 0) return null;
  const end = bracketAbove(below, largestScale(estimates, variances));
  return end === null ? null : findRoot(below, 0, end);
}

/** Slope of the (restricted) likelihood in tau2, up to a factor (Viechtbauer 2005, J. Educ. Behav. Stat. 30:261). */
function likelihoodSlope(
  estimates: readonly number[],
  variances: readonly number[],
  tau2: number,
  restricted: boolean,
): number {
  const { mean, totalWeight, squaredWeight } = weightedMean(estimates, variances, tau2);
  let squares = 0;
  for (let g = 0; g < estimates.length; g += 1) {
    const away = (estimates[g] as number) - mean;
    const weight = 1 / ((variances[g] as number) + tau2);
    squares += weight * weight * away * away;
  }
  return squares - totalWeight + (restricted ? squaredWeight / totalWeight : 0);
}

/**
 * The tau2 of the greatest likelihood. Labs of very unequal precision can make several hills: the tops, where the slope
 * turns from rising to falling, are found on a grid that grows by a quarter from small to large, 0 is one where the
 * likelihood falls from there, and the highest is taken.
 */
function likeliest(estimates: readonly number[], variances: readonly number[], restricted: boolean): number {
  const slope = (tau2: number) => likelihoodSlope(estimates, variances, tau2, restricted);
  const largest = largestScale(estimates, variances) * 4;
  let from = 0;
  let rising = slope(0) > 0;
  const tops = rising ? [] : [0];
  for (let at = largest * 1e-9; at < largest * 2; at *= 1.25) {
    const risingNow = slope(at) > 0;
    if (rising && !risingNow) tops.push(findRoot((tau2) => -slope(tau2), from, at));
    rising = risingNow;
    from = at;
  }
  let best = tops[0] ?? 0;
  if (tops.length < 2) return best;
  let least = likelihoodCriterion(estimates, variances, best, restricted);
  for (const top of tops.slice(1)) {
    const criterion = likelihoodCriterion(estimates, variances, top, restricted);
    if (criterion < least) [best, least] = [top, criterion];
  }
  return best;
}

/** -2 log (restricted) likelihood at tau2, up to a constant. */
function likelihoodCriterion(
  estimates: readonly number[],
  variances: readonly number[],
  tau2: number,
  restricted: boolean,
): number {
  const { totalWeight, heterogeneity } = weightedMean(estimates, variances, tau2);
  let criterion = heterogeneity + (restricted ? ln(totalWeight) : 0);
  for (const variance of variances) criterion += ln(variance + tau2);
  return criterion;
}

function largestScale(estimates: readonly number[], variances: readonly number[]): number {
  const range = Math.max(...estimates) - Math.min(...estimates);
  return Math.max(range * range, Math.max(...variances));
}

/**
 * Interval of tau2 by the Q profile (Viechtbauer 2007, Stat. Med. 26:37): all tau2 for which Q(tau2) lies between the
 * chi-square quantiles with k - 1 degrees of freedom.
 */
export function betweenVarianceInterval(
  estimates: readonly number[],
  variances: readonly number[],
  confidence: number,
): { readonly lower: number; readonly upper: number } {
  const degrees = estimates.length - 1;
  const tail = (1 - confidence) / 2;
  return {
    lower: heterogeneityRoot(estimates, variances, chiSquareQuantile(1 - tail, degrees)) ?? 0,
    upper: heterogeneityRoot(estimates, variances, chiSquareQuantile(tail, degrees)) ?? 0,
  };
}

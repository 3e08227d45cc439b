import { studentQuantile } from './distributions.ts';

const most = 1_000_000;

/**
 * Smallest number of pairs at which two one-sided tests establish equivalence with the given power when there is no
 * difference: t(1 - alpha) + t((1 + power) / 2) <= margin sqrt(n) / s, with central t quantiles in place of the
 * noncentral distribution (Chow, Shao & Wang, Sample Size Calculations in Clinical Research, equivalence of means).
 * @param pairSpread standard deviation of one pair difference (after adjustment), unit of the margin
 * @param adjusted number of matching variables that the difference is adjusted for
 * @returns null beyond a million pairs
 */
export function pairsForEquivalence(
  pairSpread: number,
  margin: number,
  alpha: number,
  adjusted: number,
  power = 0.8,
): number | null {
  const enough = (pairs: number): boolean => {
    const degrees = pairs - 1 - adjusted;
    const needed = studentQuantile(1 - alpha, degrees) + studentQuantile((1 + power) / 2, degrees);
    return needed * pairSpread <= margin * Math.sqrt(pairs);
  };
  const least = adjusted + 3;
  let high = least;
  while (!enough(high)) {
    if (high >= most) return null;
    high = Math.min(2 * high, most);
  }
  let low = least - 1;
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (enough(middle)) high = middle;
    else low = middle;
  }
  return high;
}

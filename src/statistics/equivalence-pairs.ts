/** How many pairs a question needs. */
import { normalQuantile } from './distributions.ts';
import { differencePower, equivalencePower } from './paired-power.ts';

const most = 1_000_000;

export interface PairPlan {
  /** Standard deviation of one pair difference (after adjustment), in the unit of the margin; > 0. */
  readonly pairSpread: number;
  /** Error probability: of each one-sided test for equivalence, of both sides together for a difference. */
  readonly alpha: number;
  /** Probability with which the answer shall come out; in (0, 1). */
  readonly power: number;
  /** True difference that is assumed, in the unit of the margin. */
  readonly difference: number;
  /** Degrees of freedom that so many pairs leave; pairs - 1 when not given. At least 1. */
  readonly degreesOfFreedom?: (pairs: number) => number;
}

/**
 * Smallest number of pairs at which two one-sided tests establish equivalence within the margin with the power asked for,
 * by the exact power.
 * @returns null when the difference assumed is not inside the margin, or beyond a million pairs
 */
export function pairsForEquivalence(plan: PairPlan, margin: number): number | null {
  const room = margin - Math.abs(plan.difference);
  if (!(room > 0)) return null;
  const chance = plan.difference === 0 ? (1 + plan.power) / 2 : plan.power;
  const guess = normalGuess(plan, normalQuantile(1 - plan.alpha) + normalQuantile(chance), room);
  return leastPairs(plan, guess, (test) => equivalencePower(test, margin, plan.alpha));
}

/**
 * Smallest number of pairs at which a two-sided t test finds the difference assumed with the power asked for.
 * @returns null when the difference assumed is zero, or beyond a million pairs
 */
export function pairsForDifference(plan: PairPlan): number | null {
  if (plan.difference === 0) return null;
  const quantiles = normalQuantile(1 - plan.alpha / 2) + normalQuantile(plan.power);
  const guess = normalGuess(plan, quantiles, Math.abs(plan.difference));
  return leastPairs(plan, guess, (test) => differencePower(test, plan.alpha));
}

/** Where the search starts: the number of pairs were the spread known. */
function normalGuess({ pairSpread }: PairPlan, quantiles: number, room: number): number {
  const root = (Math.max(0, quantiles) * pairSpread) / room;
  return Math.max(2, Math.min(most, Math.ceil(root * root)));
}

type Planned = Parameters<typeof differencePower>[0];

/** Power grows with the number of pairs: steps of a quarter away from the guess, then bisection. */
function leastPairs(
  { pairSpread, power, difference, degreesOfFreedom = (pairs) => pairs - 1 }: PairPlan,
  guess: number,
  powerOf: (test: Planned) => number,
): number | null {
  const enough = (pairs: number): boolean => {
    const degrees = degreesOfFreedom(pairs);
    if (!(degrees >= 1)) return false;
    const standardError = pairSpread / Math.sqrt(pairs);
    return powerOf({ standardError, degreesOfFreedom: degrees, difference }) >= power;
  };
  let low = guess - 1;
  let high = guess;
  while (!enough(high)) {
    if (high >= most) return null;
    low = high;
    high = Math.min(Math.ceil(1.25 * high) + 1, most);
  }
  while (low > 1 && low === high - 1 && enough(low)) {
    high = low;
    low = Math.max(1, Math.floor(0.8 * high));
    if (!enough(low)) break;
    high = low;
    low = high - 1;
  }
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (enough(middle)) high = middle;
    else low = middle;
  }
  return high;
}

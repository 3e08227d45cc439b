import type { ComparisonResult } from '../../shared/comparison.ts';
import type { Verdict } from '../../shared/comparison-estimates.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { rounded } from '../pooling/figures-in-words.ts';
import { type PairPlan, pairsForEquivalence } from '../statistics/equivalence-pairs.ts';
import { equivalenceTest } from '../statistics/equivalence-test.ts';
import { type EstimatedDifference, studentInterval } from '../statistics/paired-difference.ts';
import { between, effectSize } from './effect-words.ts';
import type { MatchedPair } from './match-sides.ts';

/** A declared margin on its way into a comparison. */
export interface ComparisonMargin {
  readonly id: string;
  /** SI, > 0. */
  readonly value: number;
  /** UTC instant; null when read from a release, whose files hold no clock times. */
  readonly declaredAt: string | null;
  /** Whether the receipt of the judged shots is to be held against `declaredAt`, or was recorded as a share before. */
  readonly receivedAfter: { readonly times: true } | { readonly recordedShare: number };
}

type Equivalence = NonNullable<ComparisonResult['equivalence']>;

/** Probability with which so many pairs would settle it. */
const plannedPower = 0.8;

/**
 * Holds a difference against a margin D, alpha = 1 - confidence: the whole confidence interval beyond D on one side:
 * differentBeyondMargin; the (1 - 2 alpha) interval inside (-D, D): equivalent when the confidence interval includes
 * zero, differentWithinMargin when not; else undecided.
 * @param margin in the unit of the difference; null for none
 */
export function verdictOf(difference: EstimatedDifference, margin: number | null, confidence: number): Verdict {
  if (margin === null) return 'noMargin';
  const interval = studentInterval(difference, confidence);
  if (interval.lower > margin || interval.upper < -margin) return 'differentBeyondMargin';
  if (!equivalenceTest(difference, margin, 1 - confidence).equivalent) return 'undecided';
  return interval.lower <= 0 && interval.upper >= 0 ? 'equivalent' : 'differentWithinMargin';
}

/** The equivalence test with what it rests on and what would settle it; null without a margin. */
export function judgeEquivalence(
  columns: ShotColumns,
  pairs: readonly MatchedPair[],
  difference: EstimatedDifference,
  clustered: boolean,
  margin: ComparisonMargin | null,
  { confidence, response }: { readonly confidence: number; readonly response: VariableName },
): Equivalence | null {
  if (margin === null) return null;
  const { id, value, declaredAt } = margin;
  const alpha = 1 - confidence;
  const { interval, pLower, pUpper } = equivalenceTest(difference, value, alpha);
  const verdict = verdictOf(difference, value, confidence);
  const shareReceivedAfter = shareAfter(columns, pairs, margin);

  const lost = pairs.length - difference.degreesOfFreedom;
  const plan: PairPlan = {
    pairSpread: difference.standardError * Math.sqrt(pairs.length),
    alpha,
    power: plannedPower,
    difference: 0,
    // More pairs of the same labs or players leave the degrees of freedom as they are.
    degreesOfFreedom: (count) => (clustered ? difference.degreesOfFreedom : count - lost),
  };
  const undecided = verdict === 'undecided';
  const pairsNeeded = undecided ? pairsForEquivalence(plan, value) : null;
  const asEstimated = undecided ? pairsForEquivalence({ ...plan, difference: difference.estimate }, value) : null;
  const further = (needed: number | null): number | null =>
    needed === null ? null : Math.max(1, needed - pairs.length);
  const furtherPairs = undecided
    ? { power: plannedPower, ifNoDifference: further(pairsNeeded), ifAsEstimated: further(asEstimated) }
    : null;
  return {
    margin: { id, value, declaredAt },
    unit: quantities[response].siUnit,
    prior: shareReceivedAfter === 1,
    shareReceivedAfter,
    interval,
    pLower,
    pUpper,
    pairsNeeded,
    furtherPairs,
    sentence: equivalenceSentence(response, confidence, { interval, pLower, pUpper, value, furtherPairs }),
  };
}

function equivalenceSentence(
  response: VariableName,
  confidence: number,
  found: Pick<Equivalence, 'interval' | 'pLower' | 'pUpper' | 'furtherPairs'> & { readonly value: number },
): string {
  const { interval, pLower, pUpper, value, furtherPairs } = found;
  const p = rounded(Math.max(pLower, pUpper), 2);
  const inside = interval.lower > -value && interval.upper < value;
  const held = `The ${rounded(100 * (2 * confidence - 1), 4)} % interval, ${between(response, interval)}, lies ${inside ? 'inside' : 'not inside'} the margin of ± ${effectSize(response, value)} (two one-sided tests, larger p ${p})`;
  if (furtherPairs === null) return `${held}.`;
  const { power, ifNoDifference, ifAsEstimated } = furtherPairs;
  const chance = `at ${rounded(100 * power, 2)} % power`;
  const none =
    ifNoDifference === null
      ? 'no number of pairs up to a million would establish equivalence'
      : `about ${ifNoDifference} more pairs would establish equivalence ${chance} if the true difference is zero`;
  const same = ifAsEstimated === null ? '' : `, about ${ifAsEstimated} more if it is as estimated`;
  return `${held}; ${none}${same}.`;
}

/** Share of the paired shots that the server received after the margin was declared. */
function shareAfter(
  { receivedAt }: ShotColumns,
  pairs: readonly MatchedPair[],
  { declaredAt, receivedAfter }: ComparisonMargin,
): number {
  if ('recordedShare' in receivedAfter) return receivedAfter.recordedShare;
  const declared = declaredAt === null ? Number.NaN : Date.parse(declaredAt);
  let after = 0;
  for (const { first, second } of pairs) {
    if ((receivedAt[first] as number) > declared) after += 1;
    if ((receivedAt[second] as number) > declared) after += 1;
  }
  return after / (2 * pairs.length);
}

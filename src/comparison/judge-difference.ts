import type { ComparisonResult } from '../../shared/comparison.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { pairsForEquivalence } from '../statistics/equivalence-pairs.ts';
import { equivalenceTest } from '../statistics/equivalence-test.ts';
import { type EstimatedDifference, studentInterval } from '../statistics/paired-difference.ts';
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

export interface Judgement {
  readonly verdict: ComparisonResult['verdict'];
  readonly equivalence: ComparisonResult['equivalence'];
}

/** Probability with which so many pairs would settle it. */
const plannedPower = 0.8;

/**
 * Holds a paired difference against a margin D, alpha = 1 - confidence:
 * the whole confidence interval beyond D on one side: differentBeyondMargin; the (1 - 2 alpha) interval inside
 * (-D, D): equivalent when the confidence interval includes zero, differentWithinMargin when not; else undecided.
 */
export function judgeDifference(
  columns: ShotColumns,
  pairs: readonly MatchedPair[],
  difference: EstimatedDifference,
  margin: ComparisonMargin | null,
  confidence: number,
): Judgement {
  if (margin === null) return { verdict: 'noMargin', equivalence: null };
  const { id, value, declaredAt } = margin;
  const alpha = 1 - confidence;
  const test = equivalenceTest(difference, value, alpha);
  const interval = studentInterval(difference, confidence);
  const includesZero = interval.lower <= 0 && interval.upper >= 0;
  const beyond = interval.lower > value || interval.upper < -value;
  const within = includesZero ? 'equivalent' : 'differentWithinMargin';
  const verdict = beyond ? 'differentBeyondMargin' : test.equivalent ? within : 'undecided';

  const shareReceivedAfter = shareAfter(columns, pairs, margin);
  const adjustedFor = pairs.length - 1 - difference.degreesOfFreedom;
  const plan = {
    pairSpread: difference.standardError * Math.sqrt(pairs.length),
    alpha,
    power: plannedPower,
    difference: 0,
    degreesOfFreedom: (count: number) => count - 1 - adjustedFor,
  };
  return {
    verdict,
    equivalence: {
      margin: { id, value, declaredAt },
      prior: shareReceivedAfter === 1,
      shareReceivedAfter,
      interval: test.interval,
      pLower: test.pLower,
      pUpper: test.pUpper,
      pairsNeeded: verdict === 'undecided' ? pairsForEquivalence(plan, value) : null,
    },
  };
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

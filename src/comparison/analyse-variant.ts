import type { Verdict } from '../../shared/comparison-estimates.ts';
import type { ComparisonSpecification } from '../../shared/comparison-specification.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { studentInterval } from '../statistics/paired-difference.ts';
import type { ContrastSides } from './contrast-sides.ts';
import { estimatePairs, hasSpread } from './estimate-pairs.ts';
import { verdictOf } from './judge-difference.ts';
import { type MatchedSides, matchSides } from './match-sides.ts';
import type { ResolvedCaliper } from './resolve-calipers.ts';

/** Fewest pairs for an answer. */
export const leastPairs = 3;

/** The question asked once more with other shots, other calipers, or some pairs given up. */
export interface Variant {
  readonly pairs: number;
  /** The quoted difference; null, as the rest, with too few pairs or no spread. */
  readonly estimate: number | null;
  readonly interval: { readonly lower: number; readonly upper: number } | null;
  readonly verdict: Verdict | null;
}

/** Matches, estimates and judges as the answer itself does. */
export function analyseVariant(
  columns: ShotColumns,
  sides: ContrastSides,
  calipers: readonly ResolvedCaliper[],
  specification: ComparisonSpecification,
  margin: number | null,
  worth?: number,
): { readonly variant: Variant; readonly matched: MatchedSides } {
  const matched = matchSides(columns, sides, calipers, specification.exact, worth);
  const pairs = matched.pairs.length;
  const nothing = { pairs, estimate: null, interval: null, verdict: null };
  if (pairs < leastPairs) return { variant: nothing, matched };
  const estimates = estimatePairs(columns, matched.pairs, calipers, specification);
  if (!hasSpread(estimates)) return { variant: nothing, matched };
  const { quoted } = estimates;
  const { confidence } = specification;
  const variant = {
    pairs,
    estimate: quoted.estimate,
    interval: studentInterval(quoted, confidence),
    verdict: verdictOf(quoted, margin, confidence),
  };
  return { variant, matched };
}

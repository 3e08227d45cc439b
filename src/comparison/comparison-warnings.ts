/** Remarks that a reader of a matched comparison must see, each with the threshold that called it. */
import type { Warning } from '../../shared/analysis.ts';
import type { ComparisonResult } from '../../shared/comparison.ts';
import { quantities } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { list, percent, rounded } from '../pooling/figures-in-words.ts';
import { caliperWarnings } from './caliper-warnings.ts';
import type { ContrastSides } from './contrast-sides.ts';
import type { DividedShots } from './divide-shots.ts';
import type { PairEstimates } from './estimate-pairs.ts';
import type { MatchedSides } from './match-sides.ts';
import { measurementWarnings } from './measurement-warnings.ts';
import { labWarnings } from './pair-lab-warnings.ts';
import type { ResolvedCaliper } from './resolve-calipers.ts';

/** What the warnings look at: the answer as far as it stands, and what it was made of. */
export interface ComparisonFindings {
  readonly columns: ShotColumns;
  readonly divided: DividedShots;
  readonly sides: ContrastSides;
  readonly matched: MatchedSides;
  readonly calipers: readonly ResolvedCaliper[];
  readonly estimates: PairEstimates;
  /** Response per unit of each matching variable among all shots; null where unknown. */
  readonly slopes: readonly (number | null)[];
  readonly margin: number | null;
  readonly answer: Omit<ComparisonResult, 'warnings'>;
}

const fewPairs = 10;
const unmatchedShare = 0.2;
const imbalanceLimit = 0.1;
const severeImbalance = 0.25;
const leastRatio = 0.5;
const fragile = 1.25;
const missingShare = 0.05;

export function comparisonWarnings(findings: ComparisonFindings): Warning[] {
  return [
    ...marginWarnings(findings),
    ...pairWarnings(findings),
    ...balanceWarnings(findings),
    ...caliperWarnings(findings),
    ...labWarnings(findings),
    ...measurementWarnings(findings),
    ...robustnessWarnings(findings),
  ];
}

function marginWarnings({ answer }: ComparisonFindings): Warning[] {
  const { equivalence } = answer;
  if (equivalence === null) {
    const text =
      'No equivalence margin was declared: no claim that the two sides are equal can be made. A difference that is not significant is not evidence of equality. Declare the smallest difference that matters before the next shots are sent.';
    return [{ code: 'NO_MARGIN', text }];
  }
  if (equivalence.prior) return [];
  const share = percent(equivalence.shareReceivedAfter);
  const text = `The margin was declared after data were received: only ${share} of the judged shots (fewer than all) came after it. The verdict is exploratory; it takes new shots to confirm it.`;
  return [{ code: 'MARGIN_LATE', text }];
}

function pairWarnings({ matched, sides, answer, columns, divided }: ComparisonFindings): Warning[] {
  const warnings: Warning[] = [];
  const pairs = matched.pairs.length;
  if (pairs < fewPairs) {
    const text = `Only ${pairs} pairs (fewer than ${fewPairs}): the interval leans on the differences being roughly normal, and one odd shot can move it.`;
    warnings.push({ code: 'FEW_PAIRS', text });
  }
  const smaller = Math.min(sides.first.length, sides.second.length);
  const single = smaller - pairs;
  if (single > unmatchedShare * smaller) {
    const reasons = answer.unmatched.reasons.map(({ reason, shots }) => `${shots}: ${reason}`);
    const text = `${percent(single / smaller)} of the smaller side (${single} of ${smaller} shots; more than ${percent(unmatchedShare)}) found no partner: the comparison is about the matched shots only. Single shots of both sides: ${reasons.join('; ')}.`;
    warnings.push({ code: 'UNMATCHED', text });
  }
  if (matched.ties > 0) {
    const text = `${matched.ties} of ${pairs} pairs could have taken another shot at the same total distance; the tie fell by lab and label.`;
    warnings.push({ code: 'MATCHING_TIES', text });
  }
  const [ranks] = answer.ranks;
  if (ranks !== undefined && ranks.zeros + ranks.tied > 0) {
    const text = `Of the ${pairs} pair differences ${ranks.zeros} ${ranks.zeros === 1 ? 'is' : 'are'} zero and ${ranks.tied} share their size with another: for the signed-rank test zeros are dropped before ranking and ties share their mean rank, which its distribution takes into account.`;
    warnings.push({ code: 'TIES', text });
  }
  const absent = divided.missing.reduce((sum, { shots }) => sum + shots, 0);
  if (absent > missingShare * divided.eligible) {
    const parts = divided.missing.map(
      ({ variable, lab, shots }) => `${shots} without ${quantities[variable].label} in ${lab}`,
    );
    const text = `${absent} of ${divided.eligible} shots (more than ${percent(missingShare)}) lack a value and were left out: ${list(parts)}.`;
    warnings.push({ code: 'MISSING', text });
  }
  if (answer.specification.filter.includeReported) {
    const reported = matched.pairs
      .flatMap(({ first, second }) => [first, second])
      .filter((row) => columns.fromTrack[row] === 0).length;
    if (reported > 0) {
      const text = `${reported} of ${2 * pairs} shots are as reported by their lab, not recomputed from a track.`;
      warnings.push({ code: 'REPORTED_INCLUDED', text });
    }
  }
  return warnings;
}

function balanceWarnings({ answer }: ComparisonFindings): Warning[] {
  const uneven = answer.balance.flatMap(({ variable, after, varianceRatioAfter: ratio }) => {
    const { label } = quantities[variable];
    const means =
      after !== null && Math.abs(after) > imbalanceLimit
        ? [
            `${label} (standardised mean difference ${rounded(after, 2)}${Math.abs(after) > severeImbalance ? `, beyond ${severeImbalance}` : ''})`,
          ]
        : [];
    const spreads =
      ratio !== null && (ratio < leastRatio || ratio > 1 / leastRatio)
        ? [`${label} (ratio of variances ${rounded(ratio, 2)}, outside ${leastRatio} to ${1 / leastRatio})`]
        : [];
    return [...means, ...spreads];
  });
  if (uneven.length === 0) return [];
  const severe = answer.balance.some(({ after }) => after !== null && Math.abs(after) > severeImbalance);
  const advice = severe
    ? 'Narrow the calipers: an adjustment alone may not mend that.'
    : 'Quote the adjusted difference.';
  const text = `The matched sides still differ, beyond a standardised mean difference of ${imbalanceLimit} or in spread: ${list(uneven)}. ${advice}`;
  return [{ code: 'IMBALANCE', text }];
}

function robustnessWarnings({ answer }: ComparisonFindings): Warning[] {
  const warnings: Warning[] = [];
  const { hiddenBias, calipers, lastPairs } = answer.sensitivity;
  const equal = answer.verdict === 'equivalent' || answer.verdict === 'differentWithinMargin';
  const gamma = equal ? hiddenBias.equivalence : hiddenBias.difference;
  if (gamma !== null && gamma < fragile) {
    const what = equal ? 'the finding that the difference lies inside the margin' : 'the finding of a difference';
    const text = `A hidden bias of odds ${rounded(gamma, 3)} (below ${fragile}) would remove ${what}.`;
    warnings.push({ code: 'FRAGILE', text });
  }
  const { caliperSentence, lastPairsSentence } = answer.sensitivity;
  const other = ({ estimate, verdict }: Pick<(typeof calipers)[number], 'estimate' | 'verdict'>): boolean =>
    estimate !== null && verdict !== answer.verdict;
  const byCaliper = calipers.filter(other).length;
  const byLastPairs = lastPairs.filter(other).length;
  if (byCaliper + byLastPairs > 0) {
    const details = [byCaliper > 0 ? caliperSentence : '', byLastPairs > 0 ? lastPairsSentence : ''];
    const text = `The verdict is another in ${byCaliper + byLastPairs} of ${calipers.length - 1 + lastPairs.length} variants with other calipers or without the pairs that cost most. ${details.filter(Boolean).join(' ')}`;
    warnings.push({ code: 'VERDICT_SENSITIVE', text });
  }
  return warnings;
}

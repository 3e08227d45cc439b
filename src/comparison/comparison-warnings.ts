/** Remarks that a reader of a matched comparison must see, each with the threshold that called it. */
import type { Warning } from '../../shared/analysis.ts';
import type { ComparisonResult, ComparisonSpecification } from '../../shared/comparison.ts';
import { quantities } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { list, percent, rounded } from '../pooling/figures-in-words.ts';
import { meanOf } from '../statistics/paired-difference.ts';
import type { ContrastSides } from './contrast-sides.ts';
import { chosen, shown } from './effect-words.ts';
import type { PairEstimates } from './estimate-pairs.ts';
import type { ComparisonMargin } from './judge-difference.ts';
import type { MatchedSides } from './match-sides.ts';
import { measurementWarnings } from './measurement-warnings.ts';
import { labWarnings } from './pair-lab-warnings.ts';

export interface ComparisonFindings {
  readonly columns: ShotColumns;
  readonly specification: ComparisonSpecification;
  readonly sides: ContrastSides;
  readonly matched: MatchedSides;
  readonly estimates: PairEstimates;
  readonly balance: ComparisonResult['balance'];
  readonly margin: ComparisonMargin | null;
  /** Response per unit of each matching variable among all shots; null where unknown. */
  readonly slopes: readonly (number | null)[];
}

const fewPairs = 10;
const unmatchedShare = 0.2;
const imbalanceLimit = 0.1;
/** A leftover mean difference worth more than this part of the margin makes a caliper too wide. */
const wideShare = 0.25;

export function comparisonWarnings(findings: ComparisonFindings): Warning[] {
  return [
    ...marginWarnings(findings),
    ...pairWarnings(findings),
    ...caliperWarnings(findings),
    ...labWarnings(findings),
    ...measurementWarnings(findings),
  ];
}

function marginWarnings({ margin }: ComparisonFindings): Warning[] {
  if (margin !== null) return [];
  const text =
    'No equivalence margin was declared: no claim that the two sides are equal can be made. A difference that is not significant is not evidence of equality. Declare the smallest difference that matters before the next shots are sent.';
  return [{ code: 'NO_MARGIN', text }];
}

function pairWarnings({ matched, sides, balance, specification, columns }: ComparisonFindings): Warning[] {
  const warnings: Warning[] = [];
  const pairs = matched.pairs.length;
  if (pairs < fewPairs) {
    const text = `Only ${pairs} pairs (fewer than ${fewPairs}): the interval leans on the differences being roughly normal, and one odd shot can move it.`;
    warnings.push({ code: 'FEW_PAIRS', text });
  }
  const smaller = Math.min(sides.first.length, sides.second.length);
  const single = smaller - pairs;
  if (single > unmatchedShare * smaller) {
    const reasons = matched.unmatched.reasons.map(({ reason, shots }) => `${shots}: ${reason}`);
    const text = `${percent(single / smaller)} of the smaller side (${single} of ${smaller} shots; more than ${percent(unmatchedShare)}) found no partner: the comparison is about the matched shots only. Single shots of both sides: ${reasons.join('; ')}.`;
    warnings.push({ code: 'UNMATCHED', text });
  }
  const uneven = balance.flatMap(({ variable, after }) =>
    after !== null && Math.abs(after) > imbalanceLimit
      ? [`${quantities[variable].label} (standardised mean difference ${rounded(after, 2)})`]
      : [],
  );
  if (uneven.length > 0) {
    const text = `The matched sides still differ, beyond a standardised mean difference of ${imbalanceLimit}, in ${list(uneven)}: quote the adjusted difference.`;
    warnings.push({ code: 'IMBALANCE', text });
  }
  if (matched.ties > 0) {
    const text = `${matched.ties} of ${pairs} pairs could have taken another shot at the same total distance; the tie fell by lab and label.`;
    warnings.push({ code: 'TIES', text });
  }
  if (specification.filter.includeReported) {
    let reported = 0;
    for (const { first, second } of matched.pairs) {
      if (columns.fromTrack[first] === 0) reported += 1;
      if (columns.fromTrack[second] === 0) reported += 1;
    }
    if (reported > 0) {
      const text = `${reported} of ${2 * pairs} shots are as reported by their lab, not recomputed from a track.`;
      warnings.push({ code: 'REPORTED_INCLUDED', text });
    }
  }
  return warnings;
}

function caliperWarnings({ specification, estimates, margin, slopes }: ComparisonFindings): Warning[] {
  if (margin === null) return [];
  const { match, response } = specification;
  return match.flatMap(({ variable, caliper }, place): Warning[] => {
    const slope = slopes[place] ?? null;
    if (slope === null) return [];
    const leftover = meanOf(estimates.leftovers[place] as Float64Array);
    if (!(Math.abs(leftover * slope) > wideShare * margin.value)) return [];
    const text = `Within pairs ${quantities[variable].label} differs by ${shown(variable, leftover)} on average (matching tolerance ${chosen(variable, caliper)}), worth about ${shown(response, leftover * slope)} in the response: more than a quarter of the margin. Tighten the tolerance, or rely on the adjusted difference.`;
    return [{ code: 'CALIPER_WIDE', text }];
  });
}

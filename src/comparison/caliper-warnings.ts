/** Calipers too wide for what they let in, too narrow for what is known, or of no use to the adjustment. */
import type { Warning } from '../../shared/analysis.ts';
import { quantities } from '../../shared/quantities.ts';
import { rounded } from '../pooling/figures-in-words.ts';
import { meanOf } from '../statistics/paired-difference.ts';
import type { ComparisonFindings } from './comparison-warnings.ts';
import { chosen, shown } from './effect-words.ts';
import { narrowestUncertainties } from './resolve-calipers.ts';

/** A caliper above this part of a standard deviation, or of the range, is wide. */
const wideDeviations = 0.2;
const wideRange = 0.1;
/** A leftover mean difference worth more than this part of the margin makes a caliper too wide. */
const wideShare = 0.25;

export function caliperWarnings(findings: ComparisonFindings): Warning[] {
  return findings.calipers.flatMap((_, place) => [
    ...wide(findings, place),
    ...narrow(findings, place),
    ...notAdjusted(findings, place),
  ]);
}

function wide(
  { columns, sides, calipers, estimates, slopes, margin, answer }: ComparisonFindings,
  place: number,
): Warning[] {
  const { variable, applied } = calipers[place] as ComparisonFindings['calipers'][number];
  const { response } = answer.specification;
  const { label } = quantities[variable];
  const slope = slopes[place] ?? null;
  const reasons: string[] = [];
  const deviation = applied.standardDeviation;
  if (deviation !== null && deviation > 0 && applied.caliper > wideDeviations * deviation) {
    reasons.push(`more than ${wideDeviations} standard deviations (${shown(variable, deviation)} each)`);
  }
  const values = columns.variables[variable];
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const rows of [sides.first, sides.second]) {
    for (const row of rows) {
      least = Math.min(least, values[row] as number);
      most = Math.max(most, values[row] as number);
    }
  }
  if (most > least && applied.caliper > wideRange * (most - least)) {
    reasons.push(`more than a tenth of the range (${shown(variable, most - least)})`);
  }
  const leftover = meanOf(estimates.leftovers[place] as Float64Array);
  const costly = margin !== null && slope !== null && Math.abs(leftover * slope) > wideShare * margin;
  if (costly) {
    reasons.push(
      `a mean difference within pairs of ${shown(variable, leftover)}, worth about ${shown(response, leftover * slope)} in the response: more than a quarter of the margin`,
    );
  }
  if (reasons.length === 0) return [];
  const worth =
    slope === null ? '' : `, worth about ${shown(response, Math.abs(slope) * applied.caliper)} in the response`;
  const advice = costly ? ' Tighten the tolerance, or rely on the adjusted difference.' : '';
  const text = `A pair may differ by ${chosen(variable, Number(rounded(applied.caliper, 2)))} in ${label}${worth}. That is wide: ${reasons.join('; ')}.${advice}`;
  return [{ code: 'CALIPER_WIDE', text }];
}

function narrow({ calipers }: ComparisonFindings, place: number): Warning[] {
  const { variable, applied } = calipers[place] as ComparisonFindings['calipers'][number];
  const { standardUncertainty, caliper, combinedUncertainties } = applied;
  if (standardUncertainty === null || combinedUncertainties !== null) return [];
  if (!(caliper < narrowestUncertainties * standardUncertainty)) return [];
  const text = `The matching tolerance of ${quantities[variable].label}, ${chosen(variable, Number(rounded(caliper, 3)))}, is below ${narrowestUncertainties} standard uncertainties of a shot (${shown(variable, standardUncertainty)} each): part of the matching is on noise.`;
  return [{ code: 'CALIPER_NARROW', text }];
}

function notAdjusted({ calipers, estimates }: ComparisonFindings, place: number): Warning[] {
  const { adjusted, leftovers } = estimates;
  if (adjusted === null || adjusted.slopes[place] !== null) return [];
  const leftover = leftovers[place] as Float64Array;
  // All pairs agree exactly: there is nothing to adjust for.
  if (leftover.every((value) => value === 0)) return [];
  const { variable } = calipers[place] as ComparisonFindings['calipers'][number];
  const text = `Leftover differences in ${quantities[variable].label} are the same in all pairs or go along with those of another matching variable: the difference could not be adjusted for them separately.`;
  return [{ code: 'COLLINEAR', text }];
}

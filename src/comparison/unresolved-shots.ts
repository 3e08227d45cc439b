import type { ComparisonResult } from '../../shared/comparison.ts';
import type { ComparisonSpecification } from '../../shared/comparison-specification.ts';
import { flagMask } from '../../shared/flags.ts';
import { quantities } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { percent, rounded } from '../pooling/figures-in-words.ts';
import { normalCdf } from '../statistics/distributions.ts';
import { analyseVariant } from './analyse-variant.ts';
import { type ContrastSides, contrastBoundary } from './contrast-sides.ts';
import { plusMinus } from './effect-words.ts';
import type { MatchedPair } from './match-sides.ts';
import { isUncertain } from './own-uncertainty.ts';
import type { ResolvedCaliper } from './resolve-calipers.ts';
import { verdictWords } from './verdict-words.ts';

/** A value nearer to the boundary than this many standard uncertainties is not settled. */
export const settled = 2;
const notResolved = flagMask(['accelerationNotResolved']);

/**
 * Paired shots whose side of the contrast is not settled, how many of them are likely on the wrong one, and the answer
 * without all such shots.
 * @returns null when the contrast has no boundary or every paired shot is settled
 */
export function unresolvedShots(
  columns: ShotColumns,
  sides: ContrastSides,
  pairs: readonly MatchedPair[],
  calipers: readonly ResolvedCaliper[],
  specification: ComparisonSpecification,
  margin: number | null,
): ComparisonResult['unresolved'] {
  const { contrast, response } = specification;
  const boundary = contrastBoundary(contrast);
  if (boundary === null || contrast.kind === 'grouping' || !isUncertain(contrast.variable)) return null;
  const { variable } = contrast;
  const values = columns.variables[variable];
  const uncertainties = columns.uncertainties[variable];
  /** Distance from the boundary in standard uncertainties; NaN when the shot states none. */
  const distance = (row: number): number =>
    Math.abs((values[row] as number) - boundary) / (uncertainties[row] as number);
  const unsettled = (row: number): boolean =>
    distance(row) < settled || (variable === 'cueAcceleration' && ((columns.flags[row] as number) & notResolved) !== 0);

  let shots = 0;
  let expectedWrong = 0;
  for (const { first, second } of pairs) {
    for (const row of [first, second]) {
      const ratio = distance(row);
      if (unsettled(row)) shots += 1;
      if (!Number.isNaN(ratio)) expectedWrong += normalCdf(-ratio);
    }
  }
  if (shots === 0) return null;
  const resolved = (row: number): boolean => !unsettled(row);
  const kept = { ...sides, first: sides.first.filter(resolved), second: sides.second.filter(resolved) };
  const { variant } = analyseVariant(columns, kept, calipers, specification, margin);
  const share = shots / (2 * pairs.length);
  const without =
    variant.estimate === null || variant.interval === null
      ? `Without such shots too few pairs are left for an answer (${variant.pairs}).`
      : `Without such shots: ${variant.pairs} pairs, difference ${plusMinus(response, variant.estimate, (variant.interval.upper - variant.interval.lower) / 2)}${verdictWords(variant.verdict)}.`;
  const { label } = quantities[variable];
  return {
    variable,
    shots,
    share,
    expectedWrong,
    without: variant,
    unit: quantities[response].siUnit,
    sentence: `${shots} of ${2 * pairs.length} shots (${percent(share)}) lie within ${settled} standard uncertainties of the boundary in ${label}, or their interval reaches it: their side is not settled; about ${rounded(expectedWrong, 2)} are expected on the wrong side, which shrinks the difference. ${without}`,
  };
}

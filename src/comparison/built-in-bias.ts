import type { ComparisonResult, ComparisonSpecification } from '../../shared/comparison.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { rounded } from '../pooling/figures-in-words.ts';
import { meanOf } from '../statistics/paired-difference.ts';
import { varianceOf } from '../statistics/standardised-difference.ts';
import type { ContrastSides } from './contrast-sides.ts';
import { shown } from './effect-words.ts';
import type { MatchedPair } from './match-sides.ts';

export interface BuiltInBias {
  readonly matched: VariableName;
  /** Mean correlation of the two measurement errors. */
  readonly correlation: number;
  /** True value of the matching variable, first minus second, although the measured ones are matched. SI. */
  readonly hiddenDifference: number;
  /** What that is worth in the response, in its SI unit: part of the difference found. Null without a slope. */
  readonly bias: number | null;
}

/**
 * Cue speed and acceleration of one track fit err together. Shots divided by one of them and matched on the measured
 * other are not matched on the true other: a shot with high measured acceleration tends to have a positive error of
 * acceleration, hence of speed. With errors that are normal and independent of the true values the error of speed
 * expected from a measured acceleration a is cov(e_V, e_a) (a - mean a) / var(a), so the true speeds differ by minus
 * that between the sides. For a split by sign of a normal acceleration this is the
 * 2 * 0.80 * rho * u_V * sqrt(1 - reliability) of the methods text.
 * @param slopes response per unit of each matching variable, in the order of `match`
 * @returns null when the question has no such pair of variables or the shots carry no covariance
 */
export function builtInBias(
  columns: ShotColumns,
  sides: ContrastSides,
  pairs: readonly MatchedPair[],
  { contrast, match }: Pick<ComparisonSpecification, 'contrast' | 'match'>,
  slopes: readonly (number | null)[],
): BuiltInBias | null {
  if (contrast.kind === 'grouping') return null;
  const partner = { cueAcceleration: 'cueSpeed', cueSpeed: 'cueAcceleration' } as const;
  if (contrast.variable !== 'cueAcceleration' && contrast.variable !== 'cueSpeed') return null;
  const matched = partner[contrast.variable];
  const place = match.findIndex(({ variable }) => variable === matched);
  if (place < 0) return null;

  const rows = pairs.flatMap(({ first, second }) => [first, second]);
  const known = rows.filter((row) => Number.isFinite(columns.covarianceSpeedAcceleration[row] as number));
  if (known.length === 0) return null;
  const covariances = Float64Array.from(known, (row) => columns.covarianceSpeedAcceleration[row] as number);
  const { cueSpeed, cueAcceleration } = columns.uncertainties;
  const correlations = Float64Array.from(
    known,
    (row, i) => (covariances[i] as number) / ((cueSpeed[row] as number) * (cueAcceleration[row] as number)),
  );
  const values = columns.variables[contrast.variable];
  const of = (list: ArrayLike<number>): Float64Array => Float64Array.from(list, (row) => values[row] as number);
  const variance = varianceOf(of([...sides.first, ...sides.second]));
  if (!(variance > 0)) return null;
  const gap = meanOf(of(pairs.map(({ first }) => first))) - meanOf(of(pairs.map(({ second }) => second)));
  const hiddenDifference = (-meanOf(covariances) * gap) / variance;
  const slope = slopes[place] ?? null;
  return {
    matched,
    correlation: meanOf(correlations),
    hiddenDifference,
    bias: slope === null ? null : slope * hiddenDifference,
  };
}

/** The same with units and a sentence. */
export function presentBuiltInBias(
  columns: ShotColumns,
  sides: ContrastSides,
  pairs: readonly MatchedPair[],
  specification: ComparisonSpecification,
  slopes: readonly (number | null)[],
): ComparisonResult['builtInBias'] {
  const found = builtInBias(columns, sides, pairs, specification, slopes);
  if (found === null) return null;
  const { matched, correlation, hiddenDifference, bias } = found;
  const { response } = specification;
  const worth =
    bias === null
      ? 'the shots do not tell what that is worth in the response'
      : `that is worth about ${shown(response, bias)} of the difference found`;
  return {
    ...found,
    hiddenUnit: quantities[matched].siUnit,
    unit: quantities[response].siUnit,
    sentence: `Cue speed and cue acceleration come from one fit of each track and err together (correlation ${rounded(correlation, 2)}). Matched on measured ${quantities[matched].label}, the first side's true one differs from the second's by about ${shown(matched, hiddenDifference)}; ${worth}. No correction is applied.`,
  };
}

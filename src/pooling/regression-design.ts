/** A regression question turned into columns and moments. */
import type { VariableName } from '../../shared/quantities.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import { chunkSegments } from '../statistics/chunk-segments.ts';
import { type Moments, momentsByGroup } from '../statistics/moments.ts';
import { type Range, type TermBasis, termBasis, termColumns } from '../statistics/term-basis.ts';
import type { ShotColumns } from './columns.ts';

export interface VariableRange extends Range {
  readonly variable: VariableName;
  readonly mean: number;
}

export interface RegressionDesign {
  readonly basis: TermBasis;
  /** Predictor variables, in the order in which the basis numbers them. */
  readonly predictors: readonly VariableName[];
  /** Constant taken off the response before moments; kept to the end. */
  readonly responseOffset: number;
  /** Moments of the basis columns and the response, by lab code. */
  readonly labs: readonly Moments[];
  /** Response first, then predictors. */
  readonly ranges: readonly VariableRange[];
}

/** Variables that the question needs, response first, each once. */
export function neededVariables({ response, terms }: RegressionSpecification): VariableName[] {
  return [...new Set([response, ...terms.flat().map(({ variable }) => variable)])];
}

/**
 * Moments of the chosen rows under the basis that the question asks for.
 * @param indices rows that take part, ascending, with a value in every needed variable; at least one
 */
export function regressionDesign(
  columns: ShotColumns,
  specification: RegressionSpecification,
  indices: Int32Array,
): RegressionDesign {
  const predictors = [...new Set(specification.terms.flat().map(({ variable }) => variable))];
  const ranges = neededVariables(specification).map((variable) =>
    rangeOf(variable, columns.variables[variable], indices),
  );
  const rangeByName = new Map(ranges.map((range) => [range.variable, range]));
  const basis = termBasis(
    specification.terms.map((term) =>
      term.map(({ variable, power }) => ({ variable: predictors.indexOf(variable), power })),
    ),
    predictors.map((variable) => rangeByName.get(variable) as VariableRange),
  );
  const { min, max } = ranges[0] as VariableRange;
  const responseOffset = min + (max - min) / 2;
  const fill = termColumns(
    basis,
    predictors.map((variable) => columns.variables[variable]),
    columns.variables[specification.response],
    responseOffset,
    indices,
  );
  const { codes, names } = columns.groups.lab;
  const segments = chunkSegments(codes, columns.ordinals, indices);
  const labs = momentsByGroup(basis.terms.length + 1, fill, segments, names.length);
  return { basis, predictors, responseOffset, labs, ranges };
}

function rangeOf(variable: VariableName, values: Float64Array, indices: Int32Array): VariableRange {
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  for (let place = 0; place < indices.length; place += 1) {
    const value = values[indices[place] as number] as number;
    if (value < min) min = value;
    if (value > max) max = value;
  }
  const middle = min + (max - min) / 2;
  let sum = 0;
  for (let place = 0; place < indices.length; place += 1) {
    sum += (values[indices[place] as number] as number) - middle;
  }
  return { variable, min, max, mean: middle + sum / indices.length };
}

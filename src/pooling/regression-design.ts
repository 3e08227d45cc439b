/** A regression question turned into columns and moments. */
import type { VariableName } from '../../shared/quantities.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import { chunkSegments, groupStretches } from '../statistics/chunk-segments.ts';
import { type FillBlock, type Moments, momentsByGroup, type Segment } from '../statistics/moments.ts';
import { type Range, type TermBasis, termBasis, termColumns } from '../statistics/term-basis.ts';
import type { ShotColumns } from './columns.ts';
import { compareCodeUnits } from './compare-code-units.ts';

interface Extent extends Range {
  /** Range of each lab with shots, by lab code. */
  readonly labs: ReadonlyMap<number, Range>;
}

export interface VariableRange extends Extent {
  readonly variable: VariableName;
  readonly mean: number;
  /** Range on which the terms are built; null for the response. */
  readonly basis: (Range & { readonly declared: boolean }) | null;
}

export interface RegressionDesign {
  readonly basis: TermBasis;
  /** Predictor variables, in the order in which the basis numbers them. */
  readonly predictors: readonly VariableName[];
  /** Constant taken off the response before moments; kept to the end. */
  readonly responseOffset: number;
  /** Moments of the basis columns and the response, by lab code. */
  readonly labs: readonly Moments[];
  /** Fills the basis columns and the response of the chosen rows, see moments.ts. */
  readonly fill: FillBlock;
  /** Moments by parts of a lab, such as its rigs, players or sessions. */
  readonly partsBy: (grouping: PartName) => LabParts;
  /** Stretches of the chosen rows that belong to one lab each. */
  readonly stretches: readonly Segment[];
  /** Response first, then predictors. */
  readonly ranges: readonly VariableRange[];
}

/** Groupings that lie within labs. */
export type PartName = 'rig' | 'cue' | 'table' | 'player' | 'sessionDate';

export interface LabParts {
  /** `code` is that of the grouping, -1 for shots whose part is not known. */
  readonly parts: readonly { readonly lab: number; readonly code: number; readonly moments: Moments }[];
  /** Shots whose part is not known; those of one lab are taken as one part. */
  readonly unknown: number;
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
  const { codes, names } = columns.groups.lab;
  const stretches = groupStretches(codes, indices);
  const ranges = neededVariables(specification).map((variable): VariableRange => {
    const { min, max, mean, labs: byLab } = extentOf(columns.variables[variable], indices, stretches);
    const declared = specification.declaredRanges.find((range) => range.variable === variable);
    const basis = { min: declared?.min ?? min, max: declared?.max ?? max, declared: declared !== undefined };
    return { variable, min, max, mean, labs: byLab, basis: predictors.includes(variable) ? basis : null };
  });
  const rangeByName = new Map(ranges.map((range) => [range.variable, range]));
  const basis = termBasis(
    specification.terms.map((term) =>
      term.map(({ variable, power }) => ({ variable: predictors.indexOf(variable), power })),
    ),
    predictors.map((variable) => rangeByName.get(variable)?.basis as Range),
    specification.intercept,
  );
  const { min, max } = ranges[0] as VariableRange;
  const responseOffset = specification.intercept ? min + (max - min) / 2 : 0;
  const fillOf = (rows: Int32Array) =>
    termColumns(
      basis,
      predictors.map((variable) => columns.variables[variable]),
      columns.variables[specification.response],
      responseOffset,
      rows,
    );
  const fill = fillOf(indices);
  const width = basis.terms.length + 1;
  const labs = momentsByGroup(width, fill, chunkSegments(codes, columns.ordinals, indices), names.length);
  const partsBy = (grouping: PartName): LabParts => {
    const { partCodes, labOfPart, codeOfPart, rows, unknown } = partsOfLabs(columns, grouping, indices);
    const segments = chunkSegments(partCodes, columns.ordinals, rows);
    const moments = momentsByGroup(width, fillOf(rows), segments, labOfPart.length);
    const parts = moments.map((each, part) => ({
      lab: labOfPart[part] as number,
      code: codeOfPart[part] as number,
      moments: each,
    }));
    return { parts, unknown };
  };
  return { basis, predictors, responseOffset, labs, fill, partsBy, ranges, stretches };
}

/** Parts numbered lab by lab in the order of their names, those without a name last; rows sorted by part, then ordinal. */
function partsOfLabs(columns: ShotColumns, grouping: PartName, indices: Int32Array) {
  const labCodes = columns.groups.lab.codes;
  const { codes, names } = columns.groups[grouping];
  const order = [...names.keys()].sort((a, b) => compareCodeUnits(names[a] as string, names[b] as string));
  const ranks = new Int32Array(names.length);
  order.forEach((code, rank) => {
    ranks[code] = rank;
  });
  const keyOf = (row: number) => {
    const code = codes[row] as number;
    return (labCodes[row] as number) * (names.length + 1) + (code < 0 ? names.length : (ranks[code] as number));
  };
  const keys = Float64Array.from(indices, keyOf);
  const distinct = [...new Set(keys)].sort((a, b) => a - b);
  const place = new Map(distinct.map((key, part) => [key, part]));
  const starts = new Int32Array(distinct.length + 1);
  const partCodes = new Int32Array(columns.count);
  let unknown = 0;
  indices.forEach((row, at) => {
    const part = place.get(keys[at] as number) as number;
    partCodes[row] = part;
    starts[part + 1] = (starts[part + 1] as number) + 1;
    if ((codes[row] as number) < 0) unknown += 1;
  });
  for (let part = 0; part < distinct.length; part += 1) {
    starts[part + 1] = (starts[part + 1] as number) + (starts[part] as number);
  }
  const rows = new Int32Array(indices.length);
  for (const row of indices) {
    const part = partCodes[row] as number;
    rows[starts[part] as number] = row;
    starts[part] = (starts[part] as number) + 1;
  }
  return {
    partCodes,
    labOfPart: distinct.map((key) => Math.floor(key / (names.length + 1))),
    codeOfPart: distinct.map((key) => order[key % (names.length + 1)] ?? -1),
    rows,
    unknown,
  };
}

/** Range of a variable in each stretch of one lab, and of all. */
function extentOf(
  values: Float64Array,
  indices: Int32Array,
  stretches: readonly Segment[],
): Extent & { readonly mean: number } {
  const labs = new Map<number, Range>();
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  let sum = 0;
  // Sums about the first value, so that no digits go to an offset.
  const first = values[indices[0] as number] as number;
  for (const { group, from, to } of stretches) {
    const own = stretchExtent(values, indices, from, to, first);
    labs.set(group, own);
    min = Math.min(min, own.min);
    max = Math.max(max, own.max);
    sum += own.sum;
  }
  return { min, max, mean: first + sum / indices.length, labs };
}

function stretchExtent(values: Float64Array, indices: Int32Array, from: number, to: number, first: number) {
  let min = values[indices[from] as number] as number;
  let max = min;
  let sum = 0;
  for (let at = from; at < to; at += 1) {
    const value = values[indices[at] as number] as number;
    if (value < min) min = value;
    if (value > max) max = value;
    sum += value - first;
  }
  return { min, max, sum };
}

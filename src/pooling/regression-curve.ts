/** The fitted curve over one variable, the labs' own lines, and binned shots to set beside it. */
import { quantities, type VariableName } from '../../shared/quantities.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { studentQuantile } from '../statistics/distributions.ts';
import type { Contrast } from '../statistics/least-squares.ts';
import { leastSquares } from '../statistics/least-squares.ts';
import { chunkSize, type Moments } from '../statistics/moments.ts';
import { termColumns } from '../statistics/term-basis.ts';
import { binnedShots } from './binned-shots.ts';
import type { ShotColumns } from './columns.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';

type Curve = NonNullable<RegressionResult['curve']>;

const defaultPoints = 41;
/** Points of a lab's own line. */
const linePoints = 11;

/**
 * Null when the question has no terms.
 * @param indices the chosen shots
 */
export function regressionCurve(
  columns: ShotColumns,
  indices: Int32Array,
  design: RegressionDesign,
  model: RegressionModel,
  specification: RegressionSpecification,
): Curve | null {
  const variable = specification.curve?.variable ?? specification.terms[0]?.[0]?.variable;
  if (variable === undefined) return null;
  const range = design.ranges.find((each) => each.variable === variable) as (typeof design.ranges)[number];
  const held = design.predictors.flatMap((other) => {
    if (other === variable) return [];
    const given = specification.curve?.at.find((each) => each.variable === other)?.value;
    const mean = design.ranges.find((each) => each.variable === other)?.mean ?? 0;
    return [{ variable: other, unit: quantities[other].siUnit, value: given ?? mean }];
  });
  const rowsAt = (values: readonly number[]) => basisRows(design, values, heldAt({ variable, held }));
  const { min, max } = range.basis ?? range;
  const grid = gridOf(min, max, specification.curve?.points ?? defaultPoints);
  const rows = rowsAt(grid);
  const contrasts = rows.map(
    (row): Contrast => ({
      atMeans: model.level ? 1 : 0,
      slopes: row.map((value, j) => value - (model.means[j] as number)),
    }),
  );
  const spreads = model.spread(contrasts);
  const valueAt = (row: Float64Array): number => fittedAt(row, model, design.responseOffset);
  const quantile = (degrees: number) => studentQuantile(1 - (1 - specification.confidence) / 2, degrees);
  const points = grid.map((at, place) => {
    const { standardError, degreesOfFreedom } = spreads[place] as (typeof spreads)[number];
    const estimate = valueAt(rows[place] as Float64Array);
    const reach = standardError > 0 ? quantile(degreesOfFreedom) * standardError : 0;
    return { at, estimate, lower: estimate - reach, upper: estimate + reach };
  });
  return {
    variable,
    unit: quantities[variable].siUnit,
    responseUnit: quantities[specification.response].siUnit,
    held,
    meaning: meaningOf(model, specification),
    points,
    labLines: labLines(columns, design, model, range, rowsAt),
    bins: binnedShots(columns, indices, design, model, specification.response, {
      variable,
      range,
      curveAt: (values) => rowsAt(values).map(valueAt),
    }),
  };
}

function meaningOf(
  { level, mixed }: RegressionModel,
  { confidence, labs, intercept }: RegressionSpecification,
): string {
  const percent = `${Math.round(confidence * 1000) / 10} %`;
  if (!intercept) return `Fitted response with its ${percent} interval, through the origin.`;
  if (mixed !== null) return `Response of an average lab with its ${percent} interval.`;
  if (level) return `Fitted response with its ${percent} interval; differences between labs are ignored.`;
  const synthesised =
    labs === 'synthesis' ? ' The curve is that of the common slopes within labs, not of the synthesis.' : '';
  return `Response of the average shot, with the ${percent} interval of the change from the mean of the data: each lab keeps its own level, so the level carries no interval.${synthesised}`;
}

function gridOf(min: number, max: number, points: number): number[] {
  return Array.from({ length: points }, (_, place) =>
    place === points - 1 ? max : min + ((max - min) * place) / (points - 1),
  );
}

/** Null for the variable of the curve, the held value of each other one. */
export function heldAt({ variable, held }: Pick<Curve, 'held' | 'variable'>): (name: VariableName) => number | null {
  return (name) => (name === variable ? null : (held.find((each) => each.variable === name)?.value ?? 0));
}

/** Basis columns at each value of one variable, the others held. */
export function basisRows(
  design: RegressionDesign,
  values: readonly number[],
  heldValue: (variable: VariableName) => number | null,
): Float64Array[] {
  const variables = design.predictors.map((name) => {
    const fixed = heldValue(name);
    return Float64Array.from(values, (value) => fixed ?? value);
  });
  const indices = Int32Array.from(values, (_, row) => row);
  const fill = termColumns(design.basis, variables, new Float64Array(values.length), 0, indices);
  const width = design.basis.terms.length + 1;
  const block = Array.from({ length: width }, () => new Float64Array(chunkSize));
  fill(block, 0, values.length);
  return values.map((_, row) =>
    Float64Array.from({ length: width - 1 }, (__, j) => (block[j] as Float64Array)[row] as number),
  );
}

function fittedAt(
  row: Float64Array,
  { slopes, means, atMeans }: Pick<RegressionModel, 'slopes' | 'means' | 'atMeans'>,
  offset: number,
): number {
  let value = atMeans;
  for (let j = 0; j < row.length; j += 1) value += ((row[j] as number) - (means[j] as number)) * (slopes[j] as number);
  return value + offset;
}

/** Each lab's own fit over its own range, others held. */
function labLines(
  columns: ShotColumns,
  design: RegressionDesign,
  { fit }: RegressionModel,
  { labs }: RegressionDesign['ranges'][number],
  rowsAt: (values: readonly number[]) => Float64Array[],
): Curve['labLines'] {
  const { names } = columns.groups.lab;
  return [...labs].flatMap(([lab, { min, max }]) => {
    const moments = design.labs[lab] as Moments;
    if (moments.count <= fit.predictors + 1) return [];
    const outcome = leastSquares([moments], fit.model === 'throughOrigin' ? 'throughOrigin' : 'within');
    if (!outcome.ok) return [];
    const own = {
      slopes: outcome.fit.slopes,
      means: outcome.fit.means,
      atMeans: outcome.fit.means[fit.predictors] as number,
    };
    const grid = gridOf(min, max, linePoints);
    const rows = rowsAt(grid);
    return [
      {
        lab: names[lab] as string,
        points: grid.map((at, place) => ({
          at,
          estimate: fittedAt(rows[place] as Float64Array, own, design.responseOffset),
        })),
      },
    ];
  });
}

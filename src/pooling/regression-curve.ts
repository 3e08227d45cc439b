/** The fitted curve over one variable, the labs' own lines, and binned shots to set beside it. */
import { quantities, type VariableName } from '../../shared/quantities.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { studentQuantile } from '../statistics/distributions.ts';
import type { Contrast } from '../statistics/least-squares.ts';
import { leastSquares } from '../statistics/least-squares.ts';
import { chunkSize } from '../statistics/moments.ts';
import { termColumns } from '../statistics/term-basis.ts';
import type { ShotColumns } from './columns.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';

type Curve = NonNullable<RegressionResult['curve']>;

const defaultPoints = 41;
const binCount = 20;
/** Points of a lab's own line. */
const linePoints = 11;

/** Null when the question has no terms. @param indices the chosen shots */
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
    return [{ variable: other, value: given ?? mean }];
  });
  const heldAt = (name: VariableName) =>
    name === variable ? null : (held.find((each) => each.variable === name)?.value ?? 0);
  const rowsAt = (values: readonly number[]) => basisRows(design, values, heldAt);
  const grid = gridOf(range.min, range.max, specification.curve?.points ?? defaultPoints);
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
    labLines: labLines(columns, indices, design, model, variable, rowsAt),
    bins: bins(columns, indices, design, model, specification, { variable, range, heldAt }),
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

/** Basis columns at each value of one variable, the others held. */
function basisRows(
  design: RegressionDesign,
  values: readonly number[],
  heldAt: (variable: RegressionDesign['predictors'][number]) => number | null,
): Float64Array[] {
  const variables = design.predictors.map((name) => {
    const fixed = heldAt(name);
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
  indices: Int32Array,
  design: RegressionDesign,
  { fit }: RegressionModel,
  variable: RegressionDesign['predictors'][number],
  rowsAt: (values: readonly number[]) => Float64Array[],
): Curve['labLines'] {
  const { codes, names } = columns.groups.lab;
  const values = columns.variables[variable];
  const lows = new Float64Array(names.length).fill(Number.POSITIVE_INFINITY);
  const highs = new Float64Array(names.length).fill(Number.NEGATIVE_INFINITY);
  for (const row of indices) {
    const lab = codes[row] as number;
    lows[lab] = Math.min(lows[lab] as number, values[row] as number);
    highs[lab] = Math.max(highs[lab] as number, values[row] as number);
  }
  return design.labs.flatMap((moments, lab) => {
    if (moments.count <= fit.predictors + 1) return [];
    const outcome = leastSquares([moments], fit.model === 'throughOrigin' ? 'throughOrigin' : 'within');
    if (!outcome.ok) return [];
    const own = {
      slopes: outcome.fit.slopes,
      means: outcome.fit.means,
      atMeans: outcome.fit.means[fit.predictors] as number,
    };
    const grid = gridOf(lows[lab] as number, highs[lab] as number, linePoints);
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

interface BinContext {
  readonly variable: RegressionDesign['predictors'][number];
  readonly range: { readonly min: number; readonly max: number };
  readonly heldAt: (variable: RegressionDesign['predictors'][number]) => number | null;
}

/** Up to twenty bins of equal width: means as measured, and of the curve plus what the model leaves over. */
function bins(
  columns: ShotColumns,
  indices: Int32Array,
  design: RegressionDesign,
  model: RegressionModel,
  specification: RegressionSpecification,
  { variable, range, heldAt }: BinContext,
): Curve['bins'] {
  const width = (range.max - range.min) / binCount;
  if (!(width > 0)) return [];
  const terms = design.basis.terms.length;
  const codes = columns.groups.lab.codes;
  const values = columns.variables[variable];
  const response = columns.variables[specification.response];
  const onCurve = termColumns(
    design.basis,
    design.predictors.map((name) => {
      const fixed = heldAt(name);
      return fixed === null ? values : new Float64Array(columns.count).fill(fixed);
    }),
    response,
    design.responseOffset,
    indices,
  );
  const [measured, held] = [0, 1].map(() => Array.from({ length: terms + 1 }, () => new Float64Array(chunkSize))) as [
    Float64Array[],
    Float64Array[],
  ];
  // Response that the model gives a lab where every column is zero.
  const levels = Float64Array.from(design.labs, ({ means }) => {
    const own = model.fit.model === 'within' ? means : model.means;
    let level = model.fit.model === 'within' ? (means[terms] as number) : model.atMeans;
    for (let j = 0; j < terms; j += 1) level -= (own[j] as number) * (model.slopes[j] as number);
    return level;
  });
  const [residuals, fitted] = [new Float64Array(chunkSize), new Float64Array(chunkSize)];
  const shots = new Int32Array(binCount);
  const [sumX, sumY, sumAdjusted, squares] = [0, 1, 2, 3].map(() => new Float64Array(binCount)) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  for (let from = 0; from < indices.length; from += chunkSize) {
    const to = Math.min(from + chunkSize, indices.length);
    design.fill(measured, from, to);
    onCurve(held, from, to);
    const rows = to - from;
    const measuredResponse = measured[terms] as Float64Array;
    for (let at = 0; at < rows; at += 1) {
      const lab = codes[indices[from + at] as number] as number;
      residuals[at] = (measuredResponse[at] as number) - (levels[lab] as number);
      fitted[at] = model.atMeans + design.responseOffset;
    }
    for (let j = 0; j < terms; j += 1) {
      const slope = model.slopes[j] as number;
      const mean = model.means[j] as number;
      const [own, other] = [measured[j] as Float64Array, held[j] as Float64Array];
      for (let at = 0; at < rows; at += 1) {
        residuals[at] = (residuals[at] as number) - (own[at] as number) * slope;
        fitted[at] = (fitted[at] as number) + ((other[at] as number) - mean) * slope;
      }
    }
    for (let at = 0; at < rows; at += 1) {
      const row = indices[from + at] as number;
      const residual = residuals[at] as number;
      const x = values[row] as number;
      const bin = Math.min(binCount - 1, Math.floor((x - range.min) / width));
      shots[bin] = (shots[bin] as number) + 1;
      sumX[bin] = (sumX[bin] as number) + x;
      sumY[bin] = (sumY[bin] as number) + (response[row] as number);
      sumAdjusted[bin] = (sumAdjusted[bin] as number) + (fitted[at] as number) + residual;
      squares[bin] = (squares[bin] as number) + residual * residual;
    }
  }
  return [...shots].flatMap((count, bin) =>
    count === 0
      ? []
      : [
          {
            from: range.min + bin * width,
            to: range.min + (bin + 1) * width,
            shots: count,
            mean: (sumX[bin] as number) / count,
            response: (sumY[bin] as number) / count,
            adjusted: (sumAdjusted[bin] as number) / count,
            spread: Math.sqrt((squares[bin] as number) / count),
          },
        ],
  );
}

/** Shots counted in a grid over two variables, so that a million shots draw as a few hundred marks. */

import type { VariableName } from '../../shared/quantities.ts';
import type { ShotColumns } from './columns.ts';

export interface GridCell {
  readonly column: number;
  readonly row: number;
  readonly xFrom: number;
  readonly xTo: number;
  readonly yFrom: number;
  readonly yTo: number;
  readonly shots: number;
  readonly xMean: number;
  readonly yMean: number;
  /** Standard deviations; null with one shot. */
  readonly xSpread: number | null;
  readonly ySpread: number | null;
}

/** Equal cells from the smallest to the largest value; a single value is one cell without width. */
interface Axis {
  readonly from: number;
  readonly step: number;
  readonly cells: number;
}

function axisOf(values: Float64Array, indices: Int32Array, cells: number): Axis {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const index of indices) {
    const value = values[index] as number;
    if (value < least) least = value;
    if (value > most) most = value;
  }
  const step = (most - least) / cells;
  return step > 0 ? { from: least, step, cells } : { from: least, step: 0, cells: 1 };
}

function cellOf({ from, step, cells }: Axis, value: number): number {
  return step === 0 ? 0 : Math.min(Math.floor((value - from) / step), cells - 1);
}

/**
 * Counts, means and standard deviations of the selected shots by cell, row by row; cells without shots are left out.
 * Sums run in the order of the shots, each about the middle of its cell, so that large offsets cost no digits.
 */
export function countCells(
  columns: ShotColumns,
  indices: Int32Array,
  axes: { readonly x: VariableName; readonly y: VariableName; readonly columns: number; readonly rows: number },
): GridCell[] {
  if (indices.length === 0) return [];
  const xs = columns.variables[axes.x];
  const ys = columns.variables[axes.y];
  const x = axisOf(xs, indices, axes.columns);
  const y = axisOf(ys, indices, axes.rows);
  const size = x.cells * y.cells;
  const counts = new Int32Array(size);
  const [xSums, xSquares, ySums, ySquares] = [0, 1, 2, 3].map(() => new Float64Array(size)) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  const middle = (axis: Axis, cell: number) => axis.from + (cell + 0.5) * axis.step;
  for (const index of indices) {
    const column = cellOf(x, xs[index] as number);
    const row = cellOf(y, ys[index] as number);
    const cell = row * x.cells + column;
    const fromX = (xs[index] as number) - middle(x, column);
    const fromY = (ys[index] as number) - middle(y, row);
    counts[cell] = (counts[cell] as number) + 1;
    xSums[cell] = (xSums[cell] as number) + fromX;
    xSquares[cell] = (xSquares[cell] as number) + fromX * fromX;
    ySums[cell] = (ySums[cell] as number) + fromY;
    ySquares[cell] = (ySquares[cell] as number) + fromY * fromY;
  }
  const cells: GridCell[] = [];
  for (let row = 0; row < y.cells; row += 1) {
    for (let column = 0; column < x.cells; column += 1) {
      const cell = row * x.cells + column;
      const shots = counts[cell] as number;
      if (shots === 0) continue;
      cells.push({
        column,
        row,
        xFrom: x.from + column * x.step,
        xTo: x.from + (column + 1) * x.step,
        yFrom: y.from + row * y.step,
        yTo: y.from + (row + 1) * y.step,
        shots,
        xMean: middle(x, column) + (xSums[cell] as number) / shots,
        yMean: middle(y, row) + (ySums[cell] as number) / shots,
        xSpread: spread(shots, xSums[cell] as number, xSquares[cell] as number),
        ySpread: spread(shots, ySums[cell] as number, ySquares[cell] as number),
      });
    }
  }
  return cells;
}

function spread(shots: number, sum: number, squares: number): number | null {
  return shots < 2 ? null : Math.sqrt(Math.max(0, squares - (sum * sum) / shots) / (shots - 1));
}

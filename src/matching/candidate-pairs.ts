/** Candidate pairs within calipers, found through a grid of caliper-sized cells instead of by comparing all with all. */

/** Points of one side: `values[k][i]` is variable k of point i; `groups[i]` >= 0 must be equal within a pair. */
export interface Points {
  readonly count: number;
  readonly groups: Int32Array;
  readonly values: readonly Float64Array[];
}

export interface Candidates {
  /** Compressed rows: candidates of point i of the first side are start[i] .. start[i + 1] - 1. */
  readonly start: Int32Array;
  /** Point of the second side, increasing within a row. */
  readonly column: Int32Array;
  /** sqrt(sum over variables of (difference / caliper)^2). */
  readonly distance: Float64Array;
}

/**
 * A caliper is closed, and widened by this part of itself so that values typed in decimals and lying exactly one
 * caliper apart (3.1 and 3.0 within 0.1) count whatever their rounding.
 */
export const caliperSlack = 1e-9;

/** The grid is cut in at most this many variables, the last of them by bisection; others are only compared. */
const gridVariables = 3;

/**
 * All pairs of the same group in which every variable differs by at most its caliper.
 * Time O((n + m) log m + candidates); the order of the result depends on the order of the points only.
 * @param calipers one a variable, > 0, in the unit of the variable
 */
export function candidatePairs(first: Points, second: Points, calipers: readonly number[]): Candidates {
  const grid = gridOf(second, calipers);
  const start = new Int32Array(first.count + 1);
  let column = new Int32Array(Math.max(16, 4 * first.count));
  let distance = new Float64Array(column.length);
  let found = 0;
  for (let i = 0; i < first.count; i++) {
    const from = found;
    visitCells(grid, first, i, (j) => {
      let sum = 0;
      for (let k = 0; k < calipers.length; k++) {
        const caliper = calipers[k] as number;
        const difference = Math.abs((first.values[k]?.[i] as number) - (second.values[k]?.[j] as number));
        if (!(difference <= caliper * (1 + caliperSlack))) return;
        const share = difference / caliper;
        sum += share * share;
      }
      if (found === column.length) {
        const wider = new Int32Array(2 * found);
        wider.set(column);
        column = wider;
        const longer = new Float64Array(2 * found);
        longer.set(distance);
        distance = longer;
      }
      column[found] = j;
      distance[found++] = Math.sqrt(sum);
    });
    sortRow(column, distance, from, found);
    start[i + 1] = found;
  }
  return { start, column: column.slice(0, found), distance: distance.slice(0, found) };
}

interface Grid {
  readonly points: Points;
  /** Variables cut into cells, and the variable searched by bisection. */
  readonly cellVariables: readonly number[];
  readonly sortVariable: number;
  readonly widths: readonly number[];
  /** Points sorted by group, cells, then value of the sort variable. */
  readonly order: Int32Array;
  readonly cells: readonly Float64Array[];
}

function gridOf(points: Points, calipers: readonly number[]): Grid {
  const widths = calipers.map((caliper) => caliper * (1 + 2 * caliperSlack));
  const bySpread = widths
    .map((width, k) => ({ k, cells: spread(points.values[k] as Float64Array) / width }))
    .sort((a, b) => b.cells - a.cells || a.k - b.k)
    .slice(0, gridVariables)
    .map(({ k }) => k);
  const sortVariable = bySpread[0] as number;
  const cellVariables = bySpread.slice(1);
  const cells = cellVariables.map((k) =>
    (points.values[k] as Float64Array).map((value) => Math.floor(value / (widths[k] as number))),
  );
  const order = Int32Array.from({ length: points.count }, (_, j) => j);
  const sortValues = points.values[sortVariable] as Float64Array;
  order.sort((a, b) => {
    let by = (points.groups[a] as number) - (points.groups[b] as number);
    for (let c = 0; by === 0 && c < cells.length; c++) by = (cells[c]?.[a] as number) - (cells[c]?.[b] as number);
    return by || (sortValues[a] as number) - (sortValues[b] as number) || a - b;
  });
  return { points, cellVariables, sortVariable, widths, order, cells };
}

function spread(values: Float64Array): number {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    least = Math.min(least, value);
    most = Math.max(most, value);
  }
  return values.length === 0 ? 0 : most - least;
}

/** Calls `visit` for every point of the grid in the cells around point i, in grid order. */
function visitCells(grid: Grid, first: Points, i: number, visit: (j: number) => void): void {
  const group = first.groups[i] as number;
  const bounds = grid.cellVariables.map((k) => {
    const value = first.values[k]?.[i] as number;
    const width = grid.widths[k] as number;
    return { from: Math.floor((value - width) / width), to: Math.floor((value + width) / width) };
  });
  const [a, b] = bounds;
  const sortValue = first.values[grid.sortVariable]?.[i] as number;
  const reach = grid.widths[grid.sortVariable] as number;
  const sortValues = grid.points.values[grid.sortVariable] as Float64Array;
  for (let ca = a?.from ?? 0; ca <= (a?.to ?? 0); ca++) {
    for (let cb = b?.from ?? 0; cb <= (b?.to ?? 0); cb++) {
      for (let at = lowerBound(grid, group, ca, cb, sortValue - reach); at < grid.order.length; at++) {
        const j = grid.order[at] as number;
        if (grid.points.groups[j] !== group) break;
        if (a && grid.cells[0]?.[j] !== ca) break;
        if (b && grid.cells[1]?.[j] !== cb) break;
        if ((sortValues[j] as number) > sortValue + reach) break;
        visit(j);
      }
    }
  }
}

/** First place in the grid order at or after (group, cells, value). */
function lowerBound(grid: Grid, group: number, ca: number, cb: number, value: number): number {
  const sortValues = grid.points.values[grid.sortVariable] as Float64Array;
  let low = 0;
  let high = grid.order.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    const j = grid.order[middle] as number;
    let by = (grid.points.groups[j] as number) - group;
    if (by === 0 && grid.cells.length > 0) by = (grid.cells[0]?.[j] as number) - ca;
    if (by === 0 && grid.cells.length > 1) by = (grid.cells[1]?.[j] as number) - cb;
    if (by === 0) by = (sortValues[j] as number) - value;
    if (by < 0) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Insertion sort of one row by column: rows are short. */
function sortRow(column: Int32Array, distance: Float64Array, from: number, to: number): void {
  for (let k = from + 1; k < to; k++) {
    const c = column[k] as number;
    const d = distance[k] as number;
    let at = k - 1;
    while (at >= from && (column[at] as number) > c) {
      column[at + 1] = column[at] as number;
      distance[at + 1] = distance[at] as number;
      at -= 1;
    }
    column[at + 1] = c;
    distance[at + 1] = d;
  }
}

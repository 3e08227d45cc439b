/**
 * A sparse bipartite cost matrix in compressed rows: the edges of row i are start[i] .. start[i + 1] - 1.
 * Costs are whole numbers held in doubles, so that all sums of the solver are exact.
 */
export interface SparseCosts {
  readonly rows: number;
  readonly columns: number;
  /** Length rows + 1. */
  readonly start: Int32Array;
  /** Column of each edge, increasing within a row. */
  readonly column: Int32Array;
  /** Cost of each edge, a whole number >= 0. */
  readonly cost: Float64Array;
}

/**
 * Cost of leaving one row unmatched: one more pair always beats any saving of distance, since all pairs together
 * cost at most largestCost * min(rows, columns).
 */
export function unmatchedCost(costs: SparseCosts): number {
  let largest = 0;
  for (let e = 0; e < costs.cost.length; e++) largest = Math.max(largest, costs.cost[e] as number);
  return largest * Math.min(costs.rows, costs.columns) + 1;
}

/** Every intermediate sum of the solver stays below this multiple of the cost of an unmatched row. */
const headroom = 4;

/**
 * Largest k <= 36 such that costs round(distance * 2^k) of at most `largestDistance` keep the solver's arithmetic
 * exact (below 2^53) for `pairs` possible pairs; returned as the factor 2^k.
 */
export function costScale(largestDistance: number, pairs: number): number {
  let scale = 68_719_476_736; // 2^36
  while (scale > 1 && headroom * (Math.ceil(largestDistance * scale) * pairs + 1) >= Number.MAX_SAFE_INTEGER) {
    scale /= 2;
  }
  return scale;
}

/** Makes compressed rows from a dense matrix, leaving out edges whose cost exceeds `limit`. */
export function sparseFromDense(matrix: readonly (readonly number[])[], limit = Number.POSITIVE_INFINITY): SparseCosts {
  const rows = matrix.length;
  const columns = matrix[0]?.length ?? 0;
  const start = new Int32Array(rows + 1);
  const column: number[] = [];
  const cost: number[] = [];
  for (let i = 0; i < rows; i++) {
    for (let j = 0; j < columns; j++) {
      const value = matrix[i]?.[j] ?? Number.NaN;
      if (!(value <= limit)) continue;
      column.push(j);
      cost.push(value);
    }
    start[i + 1] = column.length;
  }
  return { rows, columns, start, column: Int32Array.from(column), cost: Float64Array.from(cost) };
}

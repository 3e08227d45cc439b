/**
 * Optimal assignment of rows to columns over sparse edges: most pairs first, then least total cost.
 *
 * Every row i may also take a dummy column of its own at cost M (see unmatchedCost), which makes the problem a full
 * assignment of the rows:  minimise sum c_ij x_ij + M (unmatched rows).  The dual has u_i for rows and v_j <= 0 for
 * columns with u_i + v_j <= c_ij and u_i <= M; at the optimum pairs are tight, unmatched rows have u_i = M and
 * unmatched columns v_j = 0. Those (u, v) are returned as the certificate.
 *
 * Method: augmenting row reduction, then one shortest augmenting path per row still free, by Dijkstra's method on
 * reduced costs with a heap: R. Jonker & A. Volgenant, "A shortest augmenting path algorithm for dense and sparse
 * linear assignment problems", Computing 38 (1987) 325-340; potentials and complexity as in R. E. Tarjan, Data
 * Structures and Network Algorithms (1983), chapter 8. O(rows (edges + columns) log columns) at worst.
 */
import { DistanceHeap } from './distance-heap.ts';
import { type SparseCosts, unmatchedCost } from './sparse-costs.ts';

export interface Certificate {
  /** One a row. */
  readonly u: Float64Array;
  /** One a column, <= 0. */
  readonly v: Float64Array;
  /** Cost M of an unmatched row. */
  readonly unmatchedCost: number;
}

export interface Assignment {
  /** Column of each row, or -1. */
  readonly columnOfRow: Int32Array;
  /** Row of each column, or -1. */
  readonly rowOfColumn: Int32Array;
  readonly pairs: number;
  /** Sum of the costs of the pairs. */
  readonly totalCost: number;
  readonly certificate: Certificate;
}

/** Passes of augmenting row reduction; two settle most rows, further ones mostly trade places. */
const reductionPasses = 2;
const free = -1;
/** Assigned to its own dummy column: unmatched for good, because no other row can want that column. */
const dummy = -2;

/**
 * Solves the assignment problem of the file comment.
 * @param costs whole-number costs scaled by costScale, so that all sums are exact
 * @param missed cost M of a row without partner, a whole number >= 0; when not given, so large that one more pair
 *   always beats any saving. A smaller one gives up pairs that cost more than they are worth.
 * @throws RangeError when a cost is negative, not whole, or so large that sums would be rounded
 */
export function assign(costs: SparseCosts, missed = unmatchedCost(costs)): Assignment {
  if (4 * missed >= Number.MAX_SAFE_INTEGER) throw new RangeError('Costs are too large for exact arithmetic');
  for (const cost of costs.cost) {
    if (!(cost >= 0) || Math.floor(cost) !== cost) throw new RangeError('Costs must be whole numbers from 0 up');
  }
  const state: State = {
    costs,
    missed,
    u: new Float64Array(costs.rows),
    v: new Float64Array(costs.columns),
    columnOfRow: new Int32Array(costs.rows).fill(free),
    rowOfColumn: new Int32Array(costs.columns).fill(free),
  };
  const remaining = reduceRows(state);
  augmentRows(state, remaining);

  let pairs = 0;
  let totalCost = 0;
  for (let i = 0; i < costs.rows; i++) {
    const j = state.columnOfRow[i] as number;
    if (j === dummy) {
      state.columnOfRow[i] = free;
      continue;
    }
    pairs += 1;
    totalCost += edgeCost(costs, i, j);
  }
  const { u, v, columnOfRow, rowOfColumn } = state;
  return { columnOfRow, rowOfColumn, pairs, totalCost, certificate: { u, v, unmatchedCost: missed } };
}

interface State {
  readonly costs: SparseCosts;
  readonly missed: number;
  readonly u: Float64Array;
  readonly v: Float64Array;
  readonly columnOfRow: Int32Array;
  readonly rowOfColumn: Int32Array;
}

/** Cost of edge (i, j) by bisection within row i; NaN when there is no such edge. */
export function edgeCost(costs: SparseCosts, i: number, j: number): number {
  let low = costs.start[i] as number;
  let high = (costs.start[i + 1] as number) - 1;
  while (low <= high) {
    const middle = (low + high) >> 1;
    const column = costs.column[middle] as number;
    if (column === j) return costs.cost[middle] as number;
    if (column < j) low = middle + 1;
    else high = middle - 1;
  }
  return Number.NaN;
}

/**
 * Augmenting row reduction: a free row takes its cheapest column and lowers that column's price until its second
 * choice costs the same; a row pushed out waits for the next pass. Returns the rows still free.
 */
function reduceRows({ costs, missed, u, v, columnOfRow, rowOfColumn }: State): number[] {
  const { start, column, cost } = costs;
  let waiting = Array.from({ length: costs.rows }, (_, i) => i);
  for (let pass = 0; pass < reductionPasses && waiting.length > 0; pass++) {
    const pushedOut: number[] = [];
    for (const i of waiting) {
      let least = missed;
      let second = Number.POSITIVE_INFINITY;
      let best = dummy;
      let other = dummy;
      for (let e = start[i] as number; e < (start[i + 1] as number); e++) {
        const j = column[e] as number;
        const reduced = (cost[e] as number) - (v[j] as number);
        if (reduced < least) {
          second = least;
          other = best;
          least = reduced;
          best = j;
        } else if (reduced < second) {
          second = reduced;
          other = j;
        }
      }
      // On a draw a free second choice spares a displacement.
      if (best >= 0 && least === second && rowOfColumn[best] !== free && other >= 0 && rowOfColumn[other] === free) {
        best = other;
      }
      if (best === dummy) {
        columnOfRow[i] = dummy;
        u[i] = missed;
        continue;
      }
      v[best] = (v[best] as number) - (second - least);
      u[i] = second;
      const previous = rowOfColumn[best] as number;
      if (previous >= 0) {
        columnOfRow[previous] = free;
        pushedOut.push(previous);
      }
      rowOfColumn[best] = i;
      columnOfRow[i] = best;
    }
    waiting = pushedOut;
  }
  return waiting.sort((a, b) => a - b);
}

/** One shortest augmenting path for each row given, each found by Dijkstra's method on reduced costs. */
function augmentRows({ costs, missed, u, v, columnOfRow, rowOfColumn }: State, rows: readonly number[]): void {
  const { start, column, cost } = costs;
  const distance = new Float64Array(costs.columns).fill(Number.POSITIVE_INFINITY);
  const cameFrom = new Int32Array(costs.columns);
  const settled = new Uint8Array(costs.columns);
  const touched = new Int32Array(costs.columns);
  const order = new Int32Array(costs.columns);
  const heap = new DistanceHeap(distance);

  for (const source of rows) {
    u[source] = 0;
    let touchedCount = 0;
    let settledCount = 0;
    let shortest = Number.POSITIVE_INFINITY;
    let endColumn = dummy;
    let endRow = source;
    let i = source;
    let base = 0;
    for (;;) {
      const price = u[i] as number;
      const toDummy = base + missed - price;
      if (toDummy < shortest) {
        shortest = toDummy;
        endColumn = dummy;
        endRow = i;
      }
      for (let e = start[i] as number; e < (start[i + 1] as number); e++) {
        const j = column[e] as number;
        if (settled[j] === 1) continue;
        const through = base + (cost[e] as number) - price - (v[j] as number);
        if (through >= shortest || through >= (distance[j] as number)) continue;
        if (distance[j] === Number.POSITIVE_INFINITY) touched[touchedCount++] = j;
        distance[j] = through;
        cameFrom[j] = i;
        if (rowOfColumn[j] === free) {
          shortest = through;
          endColumn = j;
        } else {
          heap.push(j);
        }
      }
      if (heap.size === 0 || (distance[heap.first] as number) >= shortest) break;
      const next = heap.pop();
      settled[next] = 1;
      order[settledCount++] = next;
      base = distance[next] as number;
      i = rowOfColumn[next] as number;
    }

    u[source] = (u[source] as number) + shortest;
    for (let k = 0; k < settledCount; k++) {
      const j = order[k] as number;
      const slack = shortest - (distance[j] as number);
      const row = rowOfColumn[j] as number;
      u[row] = (u[row] as number) + slack;
      v[j] = (v[j] as number) - slack;
    }

    // Walk back from the end: each row on the path moves to the column it led to.
    let row: number;
    let takes: number;
    if (endColumn === dummy) {
      row = endRow;
      takes = dummy;
    } else {
      takes = endColumn;
      row = cameFrom[endColumn] as number;
    }
    for (;;) {
      const left = columnOfRow[row] as number;
      columnOfRow[row] = takes;
      if (takes >= 0) rowOfColumn[takes] = row;
      if (row === source) break;
      takes = left;
      row = cameFrom[left] as number;
    }

    for (let k = 0; k < touchedCount; k++) {
      const j = touched[k] as number;
      distance[j] = Number.POSITIVE_INFINITY;
      settled[j] = 0;
    }
    heap.clear();
  }
}

import { DistanceHeap } from './distance-heap.ts';
import { dummy, free, type Prices } from './prices.ts';
import type { SparseCosts } from './sparse-costs.ts';

/**
 * Brings every free column to v = 0, as optimality asks. For a free column with v < 0 the shortest path is found along
 * which its price can rise: to a column that may be left free in its place (its own v is zero by then), or to a row
 * without a partner, which then gets one. Dijkstra's method on reduced costs from the column, the mirror image of
 * augmentRows. Keeps u + v <= c, u <= M, v <= 0, and equality on pairs.
 */
export function releaseColumns({ costs, u, v, columnOfRow, rowOfColumn }: Prices): void {
  const priced: number[] = [];
  for (let j = 0; j < costs.columns; j++) if (rowOfColumn[j] === free && (v[j] as number) < 0) priced.push(j);
  if (priced.length === 0) return;
  const { start, row, cost } = byColumn(costs);
  const distance = new Float64Array(costs.columns).fill(Number.POSITIVE_INFINITY);
  /** The column that a column's row would go to. */
  const leadsTo = new Int32Array(costs.columns);
  const settled = new Uint8Array(costs.columns);
  const touched = new Int32Array(costs.columns);
  const order = new Int32Array(costs.columns);
  const heap = new DistanceHeap(distance);

  for (const source of priced) {
    let touchedCount = 0;
    let settledCount = 0;
    let shortest = -(v[source] as number);
    /** Column left free at the end of the path, or the row that gets a partner. */
    let endColumn = source;
    let endRow = free;
    let endLeadsTo = source;
    let j = source;
    let base = 0;
    distance[source] = 0;
    touched[touchedCount++] = source;
    for (;;) {
      settled[j] = 1;
      order[settledCount++] = j;
      const price = v[j] as number;
      const end = start[j + 1] as number;
      for (let e = start[j] as number; e < end; e++) {
        const i = row[e] as number;
        const through = base + (cost[e] as number) - price - (u[i] as number);
        if (through >= shortest) continue;
        const own = columnOfRow[i] as number;
        if (own === dummy) {
          shortest = through;
          endRow = i;
          endLeadsTo = j;
          continue;
        }
        if (settled[own] === 1 || through >= (distance[own] as number)) continue;
        if (distance[own] === Number.POSITIVE_INFINITY) touched[touchedCount++] = own;
        distance[own] = through;
        leadsTo[own] = j;
        heap.push(own);
        if (through - (v[own] as number) < shortest) {
          shortest = through - (v[own] as number);
          endColumn = own;
          endRow = free;
        }
      }
      if (heap.size === 0 || (distance[heap.first] as number) >= shortest) break;
      j = heap.pop();
      base = distance[j] as number;
    }

    for (let k = 0; k < settledCount; k++) {
      const c = order[k] as number;
      const slack = shortest - (distance[c] as number);
      v[c] = (v[c] as number) + slack;
      const i = rowOfColumn[c] as number;
      if (i >= 0) u[i] = (u[i] as number) - slack;
    }

    // From the end back to the source: each row on the path moves to the column that it leads to.
    let moving = endRow;
    let to = endLeadsTo;
    if (endRow === free && endColumn !== source) {
      moving = rowOfColumn[endColumn] as number;
      rowOfColumn[endColumn] = free;
      to = leadsTo[endColumn] as number;
    }
    while (moving !== free) {
      const previous = rowOfColumn[to] as number;
      rowOfColumn[to] = moving;
      columnOfRow[moving] = to;
      moving = to === source ? free : previous;
      to = leadsTo[to] as number;
    }

    for (let k = 0; k < touchedCount; k++) {
      const c = touched[k] as number;
      distance[c] = Number.POSITIVE_INFINITY;
      settled[c] = 0;
    }
    heap.clear();
  }
}

/** The same edges column by column. */
function byColumn({ rows, columns, start, column, cost }: SparseCosts) {
  const columnStart = new Int32Array(columns + 1);
  for (let e = 0; e < column.length; e++) {
    const next = (column[e] as number) + 1;
    columnStart[next] = (columnStart[next] as number) + 1;
  }
  for (let j = 0; j < columns; j++) columnStart[j + 1] = (columnStart[j + 1] as number) + (columnStart[j] as number);
  const filled = columnStart.slice();
  const row = new Int32Array(column.length);
  const costOf = new Float64Array(column.length);
  for (let i = 0; i < rows; i++) {
    for (let e = start[i] as number; e < (start[i + 1] as number); e++) {
      const j = column[e] as number;
      const at = filled[j] as number;
      filled[j] = at + 1;
      row[at] = i;
      costOf[at] = cost[e] as number;
    }
  }
  return { start: columnStart, row, cost: costOf };
}

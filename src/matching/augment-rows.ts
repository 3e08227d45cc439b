import { DistanceHeap } from './distance-heap.ts';
import { dummy, free, type Prices } from './prices.ts';

/** Rows settled between two reports of progress. */
const reportEvery = 256;

/**
 * One shortest augmenting path for each row given, each found by Dijkstra's method on reduced costs: to the nearest
 * free column, or to the dummy column of a row on the way. Keeps u + v <= c, and equality on pairs.
 */
export function augmentRows(
  { costs, missed, u, v, columnOfRow, rowOfColumn }: Prices,
  rows: Int32Array,
  onProgress: (share: number) => void,
): void {
  const { start, column, cost } = costs;
  const distance = new Float64Array(costs.columns).fill(Number.POSITIVE_INFINITY);
  const cameFrom = new Int32Array(costs.columns);
  const settled = new Uint8Array(costs.columns);
  const touched = new Int32Array(costs.columns);
  const order = new Int32Array(costs.columns);
  const heap = new DistanceHeap(distance);

  for (let turn = 0; turn < rows.length; turn++) {
    if (turn % reportEvery === 0) onProgress((costs.rows - rows.length + turn) / costs.rows);
    const source = rows[turn] as number;
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
      const end = start[i + 1] as number;
      for (let e = start[i] as number; e < end; e++) {
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
    let row = endColumn === dummy ? endRow : (cameFrom[endColumn] as number);
    let takes = endColumn;
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
  onProgress(1);
}

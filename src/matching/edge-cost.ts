import type { SparseCosts } from './sparse-costs.ts';

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

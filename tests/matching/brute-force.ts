import type { SparseCosts } from '../../src/matching/sparse-costs.ts';

export interface BestAssignments {
  readonly pairs: number;
  readonly totalCost: number;
  /** Every assignment that reaches both, as the column of each row or -1. */
  readonly all: readonly (readonly number[])[];
}

/** Least cost of all assignments in which a row without partner costs `missed`, by trying all of them. */
export function leastCostWithSingles(costs: SparseCosts, missed: number): number {
  let least = Number.POSITIVE_INFINITY;
  forEveryAssignment(costs, (_, count, sum) => {
    least = Math.min(least, sum + missed * (costs.rows - count));
  });
  return least;
}

/** Every optimal assignment (most pairs, then least cost) by trying all of them; for a handful of rows. */
export function bestAssignments(costs: SparseCosts): BestAssignments {
  let pairs = -1;
  let totalCost = 0;
  let all: number[][] = [];
  forEveryAssignment(costs, (chosen, count, sum) => {
    if (count > pairs || (count === pairs && sum < totalCost)) {
      pairs = count;
      totalCost = sum;
      all = [];
    }
    if (count === pairs && sum === totalCost) all.push([...chosen]);
  });
  return { pairs, totalCost, all };
}

function forEveryAssignment(
  costs: SparseCosts,
  visit: (chosen: readonly number[], count: number, sum: number) => void,
): void {
  const chosen: number[] = [];
  const taken = new Set<number>();
  const walk = (row: number, count: number, sum: number): void => {
    if (row === costs.rows) {
      visit(chosen, count, sum);
      return;
    }
    chosen[row] = -1;
    walk(row + 1, count, sum);
    for (let e = costs.start[row] as number; e < (costs.start[row + 1] as number); e++) {
      const column = costs.column[e] as number;
      if (taken.has(column)) continue;
      taken.add(column);
      chosen[row] = column;
      walk(row + 1, count + 1, sum + (costs.cost[e] as number));
      taken.delete(column);
    }
  };
  walk(0, 0, 0);
}

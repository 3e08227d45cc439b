import type { Assignment } from './assign.ts';
import type { SparseCosts } from './sparse-costs.ts';

/**
 * Number of pairs that are not in every optimal assignment: the row could have taken another column (or stayed
 * unmatched) at the same number of pairs and the same total cost.
 *
 * Two optimal assignments differ by cycles of tight edges (u_i + v_j = c_ij). Nodes are rows, and one node more for
 * free places; row i leads to the row whose column it could take, or to the free places when it could take a free
 * column or do without one; the free places lead to every row whose own column may be left empty (v_j = 0) and to
 * every unmatched row. A pair is replaceable exactly when its row lies on a cycle, that is in a strongly connected
 * component of more than one node (R. E. Tarjan, SIAM J. Comput. 1 (1972) 146-160, here without recursion).
 */
export function countTies(costs: SparseCosts, { columnOfRow, rowOfColumn, certificate }: Assignment): number {
  const { rows } = costs;
  const { start, successor } = replacements(costs, columnOfRow, rowOfColumn, certificate);
  const nodes = rows + 1;
  const index = new Int32Array(nodes).fill(-1);
  const low = new Int32Array(nodes);
  const onStack = new Uint8Array(nodes);
  const stack = new Int32Array(nodes);
  const path = new Int32Array(nodes);
  const cursor = new Int32Array(nodes);
  let counter = 0;
  let stackSize = 0;
  let ties = 0;

  for (let root = 0; root < nodes; root++) {
    if (index[root] !== -1) continue;
    let depth = 0;
    const enter = (node: number): void => {
      index[node] = counter;
      low[node] = counter++;
      stack[stackSize++] = node;
      onStack[node] = 1;
      cursor[node] = start[node] as number;
      path[depth++] = node;
    };
    enter(root);
    while (depth > 0) {
      const node = path[depth - 1] as number;
      const at = cursor[node] as number;
      if (at < (start[node + 1] as number)) {
        cursor[node] = at + 1;
        const next = successor[at] as number;
        if (index[next] === -1) enter(next);
        else if (onStack[next] === 1) low[node] = Math.min(low[node] as number, index[next] as number);
        continue;
      }
      depth -= 1;
      if (depth > 0) {
        const parent = path[depth - 1] as number;
        low[parent] = Math.min(low[parent] as number, low[node] as number);
      }
      if (low[node] !== index[node]) continue;
      let size = 0;
      let matched = 0;
      for (;;) {
        const member = stack[--stackSize] as number;
        onStack[member] = 0;
        size += 1;
        if (member < rows && (columnOfRow[member] as number) >= 0) matched += 1;
        if (member === node) break;
      }
      if (size > 1) ties += matched;
    }
  }
  return ties;
}

/** The directed graph of the comment above, in compressed form; node `rows` stands for the free places. */
function replacements(
  { rows, start: edgeStart, column, cost }: SparseCosts,
  columnOfRow: Int32Array,
  rowOfColumn: Int32Array,
  { u, v, unmatchedCost }: Assignment['certificate'],
): { start: Int32Array; successor: Int32Array } {
  const start = new Int32Array(rows + 2);
  const successor: number[] = [];
  for (let i = 0; i < rows; i++) {
    const price = u[i] as number;
    let toFree = (columnOfRow[i] as number) >= 0 && price === unmatchedCost;
    for (let e = edgeStart[i] as number; e < (edgeStart[i + 1] as number); e++) {
      const j = column[e] as number;
      if (j === columnOfRow[i] || price + (v[j] as number) !== cost[e]) continue;
      const row = rowOfColumn[j] as number;
      if (row >= 0) successor.push(row);
      else toFree = true;
    }
    if (toFree) successor.push(rows);
    start[i + 1] = successor.length;
  }
  for (let i = 0; i < rows; i++) {
    const j = columnOfRow[i] as number;
    if (j < 0 || v[j] === 0) successor.push(i);
  }
  start[rows + 1] = successor.length;
  return { start, successor: Int32Array.from(successor) };
}

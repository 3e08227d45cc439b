import type { Assignment, Certificate } from './assign.ts';
import { edgeCost } from './edge-cost.ts';
import type { SparseCosts } from './sparse-costs.ts';

export type CertificateCheck = { readonly valid: true } | { readonly valid: false; readonly violation: string };

/**
 * Proves, in one walk over the edges, that pairs are optimal: most pairs, then least total cost. Linear-programming
 * duality: u_i + v_j <= c_ij on every edge, u_i <= M and v_j <= 0, with equality on the pairs, u_i = M on unmatched
 * rows and v_j = 0 on unmatched columns, leave no cheaper assignment; M > all pairs together makes it a largest one.
 * Independent of how the pairs were found.
 */
export function checkCertificate(
  costs: SparseCosts,
  assignment: Pick<Assignment, 'columnOfRow'>,
  { u, v, unmatchedCost }: Certificate,
): CertificateCheck {
  const { rows, columns, start, column, cost } = costs;
  const { columnOfRow } = assignment;
  if (columnOfRow.length !== rows || u.length !== rows || v.length !== columns) {
    return { valid: false, violation: 'the certificate has another size than the problem' };
  }
  let largest = 0;
  for (let i = 0; i < rows; i++) {
    const price = u[i] as number;
    if (!(price <= unmatchedCost)) return { valid: false, violation: `row ${i}: u exceeds the unmatched cost` };
    for (let e = start[i] as number; e < (start[i + 1] as number); e++) {
      const j = column[e] as number;
      largest = Math.max(largest, cost[e] as number);
      if (!(price + (v[j] as number) <= (cost[e] as number))) {
        return { valid: false, violation: `edge (${i}, ${j}): u + v exceeds its cost` };
      }
    }
  }
  if (!(unmatchedCost > largest * Math.min(rows, columns))) {
    return { valid: false, violation: 'the unmatched cost does not outweigh all pairs together' };
  }
  const taken = new Uint8Array(columns);
  for (let i = 0; i < rows; i++) {
    const j = columnOfRow[i] as number;
    if (j < 0) {
      if (u[i] !== unmatchedCost) return { valid: false, violation: `unmatched row ${i}: u is not the unmatched cost` };
      continue;
    }
    if (taken[j] === 1) return { valid: false, violation: `column ${j} is in two pairs` };
    taken[j] = 1;
    if ((u[i] as number) + (v[j] as number) !== edgeCost(costs, i, j)) {
      return { valid: false, violation: `pair (${i}, ${j}): not tight, or not an edge` };
    }
  }
  for (let j = 0; j < columns; j++) {
    const price = v[j] as number;
    if (!(price <= 0)) return { valid: false, violation: `column ${j}: v is above zero` };
    if (taken[j] === 0 && price !== 0) return { valid: false, violation: `unmatched column ${j}: v is not zero` };
  }
  return { valid: true };
}

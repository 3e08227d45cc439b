/**
 * Optimal assignment of rows to columns over sparse edges: most pairs first, then least total cost.
 *
 * Every row i may also take a dummy column of its own at cost M (see unmatchedCost), which makes the problem a full
 * assignment of the rows:  minimise sum c_ij x_ij + M (unmatched rows).  The dual has u_i for rows and v_j <= 0 for
 * columns with u_i + v_j <= c_ij and u_i <= M; at the optimum pairs are tight, unmatched rows have u_i = M and
 * unmatched columns v_j = 0. Those (u, v) are returned as the certificate.
 *
 * Method: a round of bids for good prices (biddingPrices), then one shortest augmenting path for each row still free,
 * by Dijkstra's method on reduced costs with a heap (augmentRows), then one for each column that the bids priced and
 * nobody took (releaseColumns): R. Jonker & A. Volgenant, "A shortest augmenting path algorithm for dense and sparse
 * linear assignment problems", Computing 38 (1987) 325-340; potentials and complexity as in R. E. Tarjan, Data
 * Structures and Network Algorithms (1983), chapter 8. O((rows + columns) edges log columns) at worst.
 */
import { augmentRows } from './augment-rows.ts';
import { biddingPrices } from './bidding-prices.ts';
import { edgeCost } from './edge-cost.ts';
import { dummy, free, type Prices } from './prices.ts';
import { releaseColumns } from './release-columns.ts';
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

/**
 * Solves the assignment problem of the file comment.
 * @param costs whole-number costs scaled by costScale, so that all sums are exact
 * @param missed cost M of a row without partner, a whole number >= 0; when not given, so large that one more pair
 *   always beats any saving. A smaller one gives up pairs that cost more than they are worth.
 * @param onProgress told now and then which share of the rows is settled, from 0 to 1
 * @throws RangeError when a cost is negative, not whole, or so large that sums would be rounded
 */
export function assign(
  costs: SparseCosts,
  missed = unmatchedCost(costs),
  onProgress: (share: number) => void = () => {},
): Assignment {
  if (4 * missed >= Number.MAX_SAFE_INTEGER) throw new RangeError('Costs are too large for exact arithmetic');
  for (const cost of costs.cost) {
    if (!(cost >= 0) || Math.floor(cost) !== cost) throw new RangeError('Costs must be whole numbers from 0 up');
  }
  const prices: Prices = {
    costs,
    missed,
    u: new Float64Array(costs.rows),
    v: new Float64Array(costs.columns),
    columnOfRow: new Int32Array(costs.rows).fill(free),
    rowOfColumn: new Int32Array(costs.columns).fill(free),
  };
  augmentRows(prices, biddingPrices(prices), onProgress);
  releaseColumns(prices);

  let pairs = 0;
  let totalCost = 0;
  const { u, v, columnOfRow, rowOfColumn } = prices;
  for (let i = 0; i < costs.rows; i++) {
    const j = columnOfRow[i] as number;
    if (j === dummy) {
      columnOfRow[i] = free;
      continue;
    }
    pairs += 1;
    totalCost += edgeCost(costs, i, j);
  }
  return { columnOfRow, rowOfColumn, pairs, totalCost, certificate: { u, v, unmatchedCost: missed } };
}

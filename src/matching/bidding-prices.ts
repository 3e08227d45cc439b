import { edgeCost } from './edge-cost.ts';
import { dummy, free, type Prices } from './prices.ts';

/** A bid goes this part of the mean cost beyond what the second choice is worth: larger is quicker and rougher. */
const bidShare = 0.5;
/** Where rows outnumber columns, bids drive prices up for long: enough is enough. */
const bidsPerRow = 10;

/**
 * Good prices to start from. Rows bid in turn: a free row takes its cheapest column and lowers that column's price v
 * until its second choice is cheaper by a step; a row pushed out waits for its next turn (D. P. Bertsekas, "The auction
 * algorithm: a distributed relaxation method for the assignment problem", Annals of Operations Research 14 (1988)
 * 105-123, with one fixed step). Then every u is set to the least reduced cost of its row, pairs that are not tight are
 * parted, and free rows take free columns along tight edges. What is left is feasible and tight on its pairs; a free
 * column may be left with v < 0, which releaseColumns mends.
 * @returns the rows still free, in an order that does not follow the neighbourhood of points
 */
export function biddingPrices(prices: Prices): Int32Array {
  bid(prices);
  tighten(prices);
  return takeTight(prices);
}

function bid({ costs, missed, v, columnOfRow, rowOfColumn }: Prices): void {
  const { rows, start, column, cost } = costs;
  let sum = 0;
  for (let e = 0; e < cost.length; e++) sum += cost[e] as number;
  const step = Math.max(1, Math.floor((bidShare * sum) / Math.max(1, cost.length)));
  // A ring: never more rows wait than there are.
  const waiting = Int32Array.from({ length: rows }, (_, i) => i);
  let head = 0;
  let count = rows;
  for (let bids = bidsPerRow * rows; count > 0 && bids > 0; bids--) {
    const i = waiting[head] as number;
    head = head + 1 === rows ? 0 : head + 1;
    count -= 1;
    let least = missed;
    let second = Number.POSITIVE_INFINITY;
    let best = dummy;
    const end = start[i + 1] as number;
    for (let e = start[i] as number; e < end; e++) {
      const j = column[e] as number;
      const reduced = (cost[e] as number) - (v[j] as number);
      if (reduced < least) {
        second = least;
        least = reduced;
        best = j;
      } else if (reduced < second) {
        second = reduced;
      }
    }
    if (best === dummy) {
      columnOfRow[i] = dummy;
      continue;
    }
    v[best] = (v[best] as number) - (second - least + step);
    const previous = rowOfColumn[best] as number;
    if (previous >= 0) {
      columnOfRow[previous] = free;
      const end = head + count;
      waiting[end >= rows ? end - rows : end] = previous;
      count += 1;
    }
    rowOfColumn[best] = i;
    columnOfRow[i] = best;
  }
}

function tighten({ costs, missed, u, v, columnOfRow, rowOfColumn }: Prices): void {
  const { rows, start, column, cost } = costs;
  for (let i = 0; i < rows; i++) {
    let least = missed;
    const end = start[i + 1] as number;
    for (let e = start[i] as number; e < end; e++) {
      const reduced = (cost[e] as number) - (v[column[e] as number] as number);
      if (reduced < least) least = reduced;
    }
    u[i] = least;
    const j = columnOfRow[i] as number;
    if (j >= 0 && edgeCost(costs, i, j) - (v[j] as number) > least) {
      rowOfColumn[j] = free;
      columnOfRow[i] = free;
    }
  }
}

function takeTight({ costs, missed, u, v, columnOfRow, rowOfColumn }: Prices): Int32Array {
  const { rows, start, column, cost } = costs;
  const left = new Int32Array(rows);
  let count = 0;
  for (let i = 0; i < rows; i++) {
    if (columnOfRow[i] !== free) continue;
    if (u[i] === missed) {
      columnOfRow[i] = dummy;
      continue;
    }
    for (let e = start[i] as number; e < (start[i + 1] as number); e++) {
      const j = column[e] as number;
      if (rowOfColumn[j] !== free || (cost[e] as number) - (v[j] as number) !== u[i]) continue;
      rowOfColumn[j] = i;
      columnOfRow[i] = j;
      break;
    }
    if (columnOfRow[i] === free) left[count++] = i;
  }
  return scattered(left.subarray(0, count));
}

/** Every 7919th in turn: searches from rows near each other, one after the other, would grow over the same ground. */
function scattered(rows: Int32Array): Int32Array {
  const order = new Int32Array(rows.length);
  const stride = 7919;
  let filled = 0;
  for (let first = 0; first < stride && filled < rows.length; first++) {
    for (let at = first; at < rows.length; at += stride) order[filled++] = rows[at] as number;
  }
  return order;
}

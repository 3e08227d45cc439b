import type { SparseCosts } from './sparse-costs.ts';

/** A row without a column, or a column without a row. */
export const free = -1;
/** A row at its own dummy column: no other row can want that column. */
export const dummy = -2;

/** The assignment so far with its dual prices, changed in place by each step of `assign`. */
export interface Prices {
  readonly costs: SparseCosts;
  /** Cost of a row's own dummy column. */
  readonly missed: number;
  readonly u: Float64Array;
  readonly v: Float64Array;
  readonly columnOfRow: Int32Array;
  readonly rowOfColumn: Int32Array;
}

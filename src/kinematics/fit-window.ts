/** One window of a track: its points without outlying ones, and what each polynomial order gives at first contact. */
import { fitPolynomial, type PolynomialFit } from './fit-polynomial.ts';
import { diagnoseOrders, highestDiagnosedOrder, type OrderDiagnosis } from './order-diagnosis.ts';
import { type OutlyingPoints, outlyingPoints } from './outlying-points.ts';

/** Probability of calling any point of a clean track outlying. */
const outlierLevel = 0.01;

export interface WindowFit {
  /** Fit of the highest diagnosed order, 5 where the points allow; lower orders are its leading terms. */
  readonly fit: PolynomialFit;
  /** Positions of the fitted points, m. */
  readonly positions: Float64Array;
  /** Indices into the track, increasing. */
  readonly outlyingIndices: readonly number[];
  /** Sum of squares that rounding alone can leave, m2. */
  readonly roundingSum: number;
  /** From the first point to first contact, s. */
  readonly length: number;
  /** Orders 1 to 5 (fewer with too few points). */
  readonly orders: readonly OrderDiagnosis[];
}

/**
 * Outlying points are judged against the highest order, whose bias cannot be mistaken for them.
 *
 * @param start first point of the window; `end` the one after its last; at least 3 points
 * @param leaveOut whether outlying points are left out, or only reported
 * @param compare whether AICc and PRESS of the orders are wanted
 */
export function fitWindow(
  times: Float64Array,
  positions: Float64Array,
  start: number,
  end: number,
  leaveOut: boolean,
  compare: boolean,
): WindowFit {
  const x = times.subarray(start, end);
  const y = positions.subarray(start, end);
  let largest = 0;
  for (let i = 0; i < y.length; i += 1) largest = Math.max(largest, Math.abs(y[i] as number));
  const rounding = 4 * Number.EPSILON * largest;
  const roundingSum = y.length * rounding * rounding + 1e-300;
  const degree = Math.min(highestDiagnosedOrder, x.length - 2);
  const found = outlyingPoints(x, y, degree, outlierLevel, roundingSum);
  const kept = leaveOut ? withoutOutlying(x, y, found) : { x, y };
  const fit = leaveOut || found.indices.length === 0 ? found.fit : fitPolynomial(x, y, degree);
  return {
    fit,
    positions: kept.y,
    outlyingIndices: found.indices.map((index) => start + index),
    roundingSum,
    length: -(times[start] as number),
    orders: diagnoseOrders(fit, 0, roundingSum, compare),
  };
}

function withoutOutlying(x: Float64Array, y: Float64Array, { indices }: OutlyingPoints) {
  if (indices.length === 0) return { x, y };
  const left = new Uint8Array(x.length);
  for (const index of indices) left[index] = 1;
  const keep = (_: number, i: number) => left[i] === 0;
  return { x: x.filter(keep), y: y.filter(keep) };
}

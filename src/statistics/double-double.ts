/**
 * Double-double numbers: the unevaluated sum high + low of two doubles, about 32 digits (Dekker 1971; Knuth).
 * Used where a change of basis would cancel away the digits that a fit has; never in loops over shots.
 */

export interface DoubleDouble {
  readonly high: number;
  readonly low: number;
}

export const zero: DoubleDouble = { high: 0, low: 0 };

export function fromDouble(value: number): DoubleDouble {
  return { high: value, low: 0 };
}

export function toDouble({ high, low }: DoubleDouble): number {
  return high + low;
}

/** Exact sum of two doubles (Knuth's two-sum). */
function twoSum(a: number, b: number): DoubleDouble {
  const high = a + b;
  const part = high - a;
  return { high, low: a - (high - part) + (b - part) };
}

/** Exact sum when |a| >= |b|. */
function quickTwoSum(a: number, b: number): DoubleDouble {
  const high = a + b;
  return { high, low: b - (high - a) };
}

/** 2^27 + 1: splits a double into two halves of 26 bits (Dekker). */
const splitter = 134217729;

/** Exact product of two doubles of magnitude below about 1e300. */
function twoProduct(a: number, b: number): DoubleDouble {
  const high = a * b;
  const aScaled = splitter * a;
  const aHigh = aScaled - (aScaled - a);
  const aLow = a - aHigh;
  const bScaled = splitter * b;
  const bHigh = bScaled - (bScaled - b);
  const bLow = b - bHigh;
  return { high, low: aHigh * bHigh - high + aHigh * bLow + aLow * bHigh + aLow * bLow };
}

export function add(a: DoubleDouble, b: DoubleDouble): DoubleDouble {
  const high = twoSum(a.high, b.high);
  const low = twoSum(a.low, b.low);
  const carried = quickTwoSum(high.high, high.low + low.high);
  return quickTwoSum(carried.high, carried.low + low.low);
}

export function subtract(a: DoubleDouble, b: DoubleDouble): DoubleDouble {
  return add(a, { high: -b.high, low: -b.low });
}

export function multiply(a: DoubleDouble, b: DoubleDouble): DoubleDouble {
  const product = twoProduct(a.high, b.high);
  return quickTwoSum(product.high, product.low + (a.high * b.low + a.low * b.high));
}

/** Quotient by long division; b must not be zero. */
export function divide(a: DoubleDouble, b: DoubleDouble): DoubleDouble {
  const first = a.high / b.high;
  const rest = subtract(a, multiply(b, fromDouble(first)));
  const second = rest.high / b.high;
  const last = subtract(rest, multiply(b, fromDouble(second)));
  return add(quickTwoSum(first, second), fromDouble(last.high / b.high));
}

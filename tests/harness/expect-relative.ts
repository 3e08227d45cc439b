import { expect } from 'vitest';

/** Asserts |actual - expected| <= tolerance * |expected|; with expected 0, |actual| <= tolerance. */
export function expectRelative(actual: number, expected: number, tolerance: number, what = 'value'): void {
  const error = Math.abs(actual - expected) / (expected === 0 ? 1 : Math.abs(expected));
  expect(error, `${what}: ${actual}, expected ${expected}`).toBeLessThanOrEqual(tolerance);
}

/** Half a unit in the last of `digits` significant digits, as a relative tolerance that holds for every value. */
export function significantDigits(digits: number): number {
  return 5 / 10 ** digits;
}

/** Optimal assignments printed by others. */
import { describe, expect, it } from 'vitest';
import { assign } from '../../src/matching/assign.ts';
import { checkCertificate } from '../../src/matching/check-certificate.ts';
import { sparseFromDense } from '../../src/matching/sparse-costs.ts';

/** github.com/gatagat/lap, tests/test_lapjv.py: instance and optimum as printed there. */
const eight = [
  [1000, 2, 11, 10, 8, 7, 6, 5],
  [6, 1000, 1, 8, 8, 4, 6, 7],
  [5, 12, 1000, 11, 8, 12, 3, 11],
  [11, 9, 10, 1000, 1, 9, 8, 10],
  [11, 11, 9, 4, 1000, 2, 10, 9],
  [12, 8, 5, 2, 11, 1000, 11, 9],
  [10, 11, 12, 10, 9, 12, 1000, 3],
  [10, 10, 10, 10, 6, 3, 1, 1000],
];

describe('published assignment optima', () => {
  it('finds the total of 17 and the printed columns of the 8 x 8 instance', () => {
    const costs = sparseFromDense(eight);
    const solution = assign(costs);
    expect(solution.totalCost).toBe(17);
    expect([...solution.columnOfRow]).toEqual([1, 2, 0, 4, 5, 3, 7, 6]);
    expect(checkCertificate(costs, solution, solution.certificate)).toEqual({ valid: true });
  });

  it('pairs (0, 1) and (1, 2) at a total of 3 when edges of 4.99 and more of its top-left 3 x 3 are forbidden', () => {
    const corner = eight.slice(0, 3).map((row) => row.slice(0, 3));
    const solution = assign(sparseFromDense(corner, 4.98));
    expect([...solution.columnOfRow]).toEqual([1, 2, -1]);
    expect(solution.totalCost).toBe(3);
  });

  it('swims the medley relay in 111.5 s with Karen, Jan, Carol and Ellen', () => {
    // Times: SAS/OR documentation, OPTNET example 2.3, strokes back, breast, fly, free in tenths of a second.
    // The total is computed, not seen printed; any other team of four is slower (all are tried below).
    const tenths = [
      [351, 367, 283, 361], // Sue
      [346, 326, 269, 262], // Karen
      [313, 339, 271, 312], // Jan
      [286, 341, 291, 303], // Andrea
      [329, 322, 266, 240], // Carol
      [278, 325, 278, 270], // Ellen
    ];
    const solution = assign(sparseFromDense(tenths));
    expect(solution.totalCost).toBe(1115);
    expect([...solution.columnOfRow]).toEqual([-1, 1, 2, -1, 3, 0]);
    let least = Number.POSITIVE_INFINITY;
    for (let a = 0; a < 6; a++)
      for (let b = 0; b < 6; b++)
        for (let c = 0; c < 6; c++)
          for (let d = 0; d < 6; d++) {
            if (new Set([a, b, c, d]).size < 4) continue;
            const at = (row: number, column: number): number => tenths[row]?.[column] ?? Number.NaN;
            least = Math.min(least, at(a, 0) + at(b, 1) + at(c, 2) + at(d, 3));
          }
    expect(least).toBe(1115);
  });
});

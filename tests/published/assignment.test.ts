/** Optimal assignments printed by others. */
import { describe, expect, it } from 'vitest';
import { assign } from '../../src/matching/assign.ts';
import { checkCertificate } from '../../src/matching/check-certificate.ts';
import { countTies } from '../../src/matching/count-ties.ts';
import { type SparseCosts, sparseFromDense } from '../../src/matching/sparse-costs.ts';
import { comparisonFixture, draws } from './comparison-fixture.ts';

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

  it('swims the relay of four men in 96.6 s', () => {
    // Times of the same example; total computed with R 4.2.2.
    const tenths = [
      [263, 276, 235, 224], // Jim
      [290, 240, 279, 254], // Mike
      [272, 338, 252, 241], // Sam
      [270, 292, 230, 219], // Clayton
    ];
    expect(assign(sparseFromDense(tenths)).totalCost).toBe(966);
  });
});

describe('a relay in which some may not swim some strokes', () => {
  it('takes 118.1 s with one swimmer out (SAS/OR documentation, OPTNET example 2.4; total computed with R 4.2.2)', () => {
    const no = Number.POSITIVE_INFINITY;
    const tenths = [
      [no, 367, 283, 361], // Sue
      [346, no, no, 262], // Karen
      [313, no, 271, no], // Jan
      [286, no, 291, no], // Andrea
      [329, no, 266, no], // Carol
    ];
    const solution = assign(sparseFromDense(tenths, 1000));
    expect([solution.pairs, solution.totalCost]).toEqual([4, 1181]);
  });
});

describe('assignments of lp.assign (lpSolve in R 4.2.2, fixtures/comparison.json)', () => {
  /** The instance that the R script makes from the same seed. */
  const instance = (seed: number, most: number): SparseCosts => {
    const [first, second, third] = draws(seed, 3) as [number, number, number];
    const rows = 2 + (first % (most - 1));
    const columns = 2 + (second % (most - 1));
    const density = 8192 + (third % 57344);
    const cells = draws(seed + 7, 2 * rows * columns);
    const cost = (i: number, j: number): number => {
      const at = 2 * (i * columns + j);
      return (cells[at] as number) < density ? (cells[at + 1] as number) % 1000 : Number.POSITIVE_INFINITY;
    };
    const matrix = Array.from({ length: rows }, (_, i) => Array.from({ length: columns }, (_c, j) => cost(i, j)));
    return sparseFromDense(matrix, 1000);
  };

  for (const size of ['small', 'large'] as const) {
    it(`are met in number of pairs and total by every ${size} instance, many of them infeasible in part`, () => {
      const { firstSeed, most, pairs, totals } = comparisonFixture().assignment[size];
      let short = 0;
      for (let at = 0; at < pairs.length; at++) {
        const costs = instance(firstSeed + at, most);
        const solution = assign(costs);
        if (solution.pairs !== pairs[at] || solution.totalCost !== totals[at]) {
          expect({ seed: firstSeed + at, pairs: solution.pairs, total: solution.totalCost }).toEqual({
            seed: firstSeed + at,
            pairs: pairs[at],
            total: totals[at],
          });
        }
        if (!checkCertificate(costs, solution, solution.certificate).valid) throw new Error(`seed ${firstSeed + at}`);
        if (solution.pairs < Math.min(costs.rows, costs.columns)) short += 1;
      }
      expect(pairs.length).toBeGreaterThanOrEqual(150);
      expect(short).toBeGreaterThan(0);
    });
  }
});

describe('an assignment problem with ties', () => {
  it('costs 3 in 2 equal ways: each of three workers at two jobs of cost 1, one job in each pair of them', () => {
    // A cycle of length six has exactly two perfect matchings (any textbook of graph theory).
    const no = Number.POSITIVE_INFINITY;
    const costs = sparseFromDense(
      [
        [1, 1, no],
        [no, 1, 1],
        [1, no, 1],
      ],
      1,
    );
    const solution = assign(costs);
    expect([solution.pairs, solution.totalCost]).toEqual([3, 3]);
    expect(countTies(costs, solution)).toBe(3);
  });
});

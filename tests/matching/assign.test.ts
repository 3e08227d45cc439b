import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { assign } from '../../src/matching/assign.ts';
import { checkCertificate } from '../../src/matching/check-certificate.ts';
import { countTies } from '../../src/matching/count-ties.ts';
import { type SparseCosts, sparseFromDense } from '../../src/matching/sparse-costs.ts';
import { bestAssignments, leastCostWithSingles } from './brute-force.ts';

/** Small costs make many ties, large ones few; about half of the edges are missing. */
const problems = fc
  .record({
    rows: fc.integer({ min: 0, max: 5 }),
    columns: fc.integer({ min: 1, max: 5 }),
    largest: fc.constantFrom(2, 6, 1_000_000),
  })
  .chain(({ rows, columns, largest }) =>
    fc.array(
      fc.array(fc.oneof(fc.constant(Number.POSITIVE_INFINITY), fc.integer({ min: 0, max: largest })), {
        minLength: columns,
        maxLength: columns,
      }),
      { minLength: rows, maxLength: rows },
    ),
  )
  .map((matrix) => sparseFromDense(matrix, 1e12));
const settings = { numRuns: 3000, seed: 17 };

describe('assign', () => {
  it('gives most pairs, then least cost, as trying every assignment does', () => {
    fc.assert(
      fc.property(problems, (costs) => {
        const solution = assign(costs);
        const best = bestAssignments(costs);
        expect(solution.pairs).toBe(best.pairs);
        expect(solution.totalCost).toBe(best.totalCost);
        expect(best.all).toContainEqual([...solution.columnOfRow]);
      }),
      settings,
    );
  });

  it('always comes with a certificate that checks', () => {
    fc.assert(
      fc.property(problems, (costs) => {
        const solution = assign(costs);
        expect(checkCertificate(costs, solution, solution.certificate)).toEqual({ valid: true });
      }),
      settings,
    );
  });

  it('proves larger problems too, where bids leave priced columns free and rows without partner', () => {
    const many = fc.record({
      rows: fc.integer({ min: 5, max: 60 }),
      columns: fc.integer({ min: 5, max: 60 }),
      share: fc.constantFrom(0.03, 0.08, 0.4),
      largest: fc.constantFrom(3, 40, 1_000_000),
      numbers: fc.infiniteStream(fc.integer({ min: 0, max: 999_999 })),
    });
    let left = 0;
    fc.assert(
      fc.property(many, ({ rows, columns, share, largest, numbers }) => {
        const next = () => (numbers.next().value as number) / 1e6;
        const matrix = Array.from({ length: rows }, () =>
          Array.from({ length: columns }, () =>
            next() < share ? Math.floor(next() * largest) : Number.POSITIVE_INFINITY,
          ),
        );
        const costs = sparseFromDense(matrix, 1e12);
        const solution = assign(costs);
        expect(checkCertificate(costs, solution, solution.certificate)).toEqual({ valid: true });
        left += Math.min(rows, columns) - solution.pairs;
      }),
      { numRuns: 300, seed: 19 },
    );
    expect(left).toBeGreaterThan(100);
  });

  it('gives up the pairs that cost more than a row without partner, as trying every assignment does', () => {
    fc.assert(
      fc.property(problems, fc.integer({ min: 0, max: 8 }), (costs, missed) => {
        const { totalCost, pairs } = assign(costs, missed);
        expect(totalCost + missed * (costs.rows - pairs)).toBe(leastCostWithSingles(costs, missed));
      }),
      settings,
    );
  });

  it('counts the pairs that not every optimal assignment contains', () => {
    fc.assert(
      fc.property(problems, (costs) => {
        const solution = assign(costs);
        const { all } = bestAssignments(costs);
        const replaceable = [...solution.columnOfRow].filter(
          (column, row) => column >= 0 && all.some((other) => other[row] !== column),
        );
        expect(countTies(costs, solution)).toBe(replaceable.length);
      }),
      settings,
    );
  });

  it('refuses costs that are negative, not whole, or too large to add exactly', () => {
    expect(() => assign(sparseFromDense([[-1]]))).toThrow(RangeError);
    expect(() => assign(sparseFromDense([[0.5]]))).toThrow(RangeError);
    expect(() => assign(sparseFromDense([[2 ** 52]]))).toThrow(RangeError);
  });
});

describe('checkCertificate', () => {
  const costs = sparseFromDense([
    [4, 1, 9],
    [2, 7, 3],
    [9, 3, 8],
    [1, 9, 9],
  ]);
  const solution = assign(costs);
  const broken = (change: (copy: { u: Float64Array; v: Float64Array; columnOfRow: Int32Array }) => void) => {
    const copy = {
      u: solution.certificate.u.slice(),
      v: solution.certificate.v.slice(),
      columnOfRow: solution.columnOfRow.slice(),
    };
    change(copy);
    return checkCertificate(costs, copy, { ...copy, unmatchedCost: solution.certificate.unmatchedCost });
  };

  it('accepts the untouched one', () => {
    expect(broken(() => {})).toEqual({ valid: true });
  });

  it('catches any single change of a dual value', () => {
    for (let i = 0; i < 4; i++) {
      for (const step of [-1, 1]) {
        expect(
          broken(({ u }) => {
            u[i] = (u[i] as number) + step;
          }).valid,
        ).toBe(false);
      }
    }
    for (let j = 0; j < 3; j++) {
      for (const step of [-1, 1]) {
        expect(
          broken(({ v }) => {
            v[j] = (v[j] as number) + step;
          }).valid,
        ).toBe(false);
      }
    }
  });

  it('catches any two rows that trade columns, and a pair left out', () => {
    for (let a = 0; a < 4; a++) {
      for (let b = a + 1; b < 4; b++) {
        expect(
          broken(({ columnOfRow }) => {
            const kept = columnOfRow[a] as number;
            columnOfRow[a] = columnOfRow[b] as number;
            columnOfRow[b] = kept;
          }).valid,
        ).toBe(false);
      }
      if (solution.columnOfRow[a] === -1) continue;
      expect(
        broken(({ columnOfRow }) => {
          columnOfRow[a] = -1;
        }).valid,
      ).toBe(false);
    }
  });

  it('catches a column in two pairs, a pair that is no edge, and an unmatched cost too small for most pairs', () => {
    expect(
      broken(({ columnOfRow }) => {
        columnOfRow[0] = columnOfRow[1] as number;
      }).valid,
    ).toBe(false);
    const one: SparseCosts = sparseFromDense([[1, 50]], 10);
    const { certificate } = assign(one);
    expect(checkCertificate(one, { columnOfRow: Int32Array.of(1) }, certificate).valid).toBe(false);
    const cheap = { u: Float64Array.of(1), v: Float64Array.of(0, 0), unmatchedCost: 1 };
    expect(checkCertificate(one, { columnOfRow: Int32Array.of(-1) }, cheap).valid).toBe(false);
  });
});

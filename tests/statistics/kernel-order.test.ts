import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { chunkSegments } from '../../src/statistics/chunk-segments.ts';
import { chunkSize, mergeMoments, momentsByGroup } from '../../src/statistics/moments.ts';
import { symmetricEigen } from '../../src/statistics/symmetric-eigen.ts';

describe('chunks of rows', () => {
  it('begin with every group and with every multiple of 8192 among the ordinals, whatever is left out', () => {
    const groups = Int32Array.from([0, 0, 0, 0, 1, 1]);
    const ordinals = Int32Array.from([1, 8191, 8192, 20_000, 5, 6]);
    expect(chunkSegments(groups, ordinals, Int32Array.from([0, 1, 2, 3, 4, 5]))).toEqual([
      { group: 0, from: 0, to: 2 },
      { group: 0, from: 2, to: 3 },
      { group: 0, from: 3, to: 4 },
      { group: 1, from: 4, to: 6 },
    ]);
    expect(chunkSegments(groups, ordinals, Int32Array.from([1, 3, 5]))).toEqual([
      { group: 0, from: 0, to: 1 },
      { group: 0, from: 1, to: 2 },
      { group: 1, from: 2, to: 3 },
    ]);
    expect(chunkSegments(groups, ordinals, new Int32Array(0))).toEqual([]);
  });

  it('merged in order give the moments of all rows together, at any offset', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 2, maxLength: 60 }),
        fc.integer({ min: 1, max: 60 }),
        fc.constantFrom(0, 1e6),
        (values, cut, offset) => {
          const rows = values.map((value) => value + offset);
          const fill = (block: readonly Float64Array[], from: number, to: number) => {
            for (let at = from; at < to; at += 1) (block[0] as Float64Array)[at - from] = rows[at] as number;
          };
          const middle = Math.min(cut, rows.length);
          const segments = [
            { group: 0, from: 0, to: middle },
            { group: 1, from: middle, to: rows.length },
          ];
          const merged = mergeMoments(1, momentsByGroup(1, fill, segments, 2));
          const mean = rows.reduce((sum, value) => sum + (value - offset), 0) / rows.length;
          const spread = rows.reduce((sum, value) => sum + (value - offset - mean) ** 2, 0);
          expect(merged.count).toBe(rows.length);
          expect(Math.abs((merged.means[0] as number) - offset - mean)).toBeLessThanOrEqual(1e-15 * (offset + 10));
          expect(Math.abs((merged.products[0] as number) - spread)).toBeLessThanOrEqual(1e-12 * (1 + offset / 1e3));
        },
      ),
      { seed: 7, numRuns: 200 },
    );
  });

  it('keep the spread of a million rows to 12 digits behind an offset of a million', () => {
    const count = 100_000;
    const fill = (block: readonly Float64Array[], from: number, to: number) => {
      for (let at = from; at < to; at += 1) (block[0] as Float64Array)[at - from] = 1e6 + (at % 1000);
    };
    const ordinals = Int32Array.from({ length: count }, (_, at) => at);
    const segments = chunkSegments(new Int32Array(count), ordinals, ordinals);
    expect(segments.length).toBe(Math.ceil(count / chunkSize));
    const [moments] = momentsByGroup(1, fill, segments, 1);
    // Variance of 0..999 is (1000^2 - 1) / 12.
    const expected = (count * 999_999) / 12;
    expect(Math.abs((moments?.products[0] as number) / expected - 1)).toBeLessThan(1e-12);
  });
});

describe('eigenvalues of a symmetric matrix', () => {
  it('give the matrix back with orthonormal vectors', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 6 }).chain((size) =>
          fc.tuple(
            fc.constant(size),
            fc.array(fc.double({ min: -10, max: 10, noNaN: true }), {
              minLength: size * size,
              maxLength: size * size,
            }),
          ),
        ),
        ([size, entries]) => {
          const matrix = Float64Array.from(entries, (_, at) => {
            const [row, column] = [Math.floor(at / size), at % size];
            return entries[Math.min(row, column) * size + Math.max(row, column)] as number;
          });
          const { values, vectors } = symmetricEigen(matrix, size);
          const vector = (k: number, i: number) => vectors[i * size + k] as number;
          for (let i = 0; i < size; i += 1) {
            for (let j = 0; j < size; j += 1) {
              let rebuilt = 0;
              let product = 0;
              for (let k = 0; k < size; k += 1) {
                rebuilt += (values[k] as number) * vector(k, i) * vector(k, j);
                product += vector(i, k) * vector(j, k);
              }
              expect(Math.abs(rebuilt - (matrix[i * size + j] as number))).toBeLessThan(1e-12);
              expect(Math.abs(product - (i === j ? 1 : 0))).toBeLessThan(1e-13);
            }
          }
        },
      ),
      { seed: 3, numRuns: 200 },
    );
  });
});

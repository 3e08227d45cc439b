import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { adjustedDifference } from '../../src/statistics/paired-adjustment.ts';
import { pairedDifference } from '../../src/statistics/paired-difference.ts';

const numbers = (n: number) =>
  fc
    .array(fc.integer({ min: -1000, max: 1000 }), { minLength: n, maxLength: n })
    .map((values) => Float64Array.from(values, (value) => value / 100));
const absoluteTolerance = 1e-9;

describe('adjustedDifference', () => {
  it('agrees with the textbook intercept of a straight line and its standard error', () => {
    fc.assert(
      fc.property(numbers(12), numbers(12), (leftover, differences) => {
        const n = 12;
        let sx = 0;
        let sy = 0;
        let sxx = 0;
        let sxy = 0;
        for (let i = 0; i < n; i++) {
          const x = leftover[i] as number;
          const y = differences[i] as number;
          sx += x;
          sy += y;
          sxx += x * x;
          sxy += x * y;
        }
        const determinant = n * sxx - sx * sx;
        fc.pre(determinant > 1);
        const slope = (n * sxy - sx * sy) / determinant;
        const intercept = (sy - slope * sx) / n;
        let squares = 0;
        for (let i = 0; i < n; i++) {
          squares += ((differences[i] as number) - intercept - slope * (leftover[i] as number)) ** 2;
        }
        const standardError = Math.sqrt(((squares / (n - 2)) * sxx) / determinant);
        const adjusted = adjustedDifference(differences, [leftover], [1]);
        expect(adjusted?.degreesOfFreedom).toBe(10);
        expect(Math.abs((adjusted?.estimate as number) - intercept)).toBeLessThan(absoluteTolerance * 10);
        expect(Math.abs((adjusted?.standardError as number) - standardError)).toBeLessThan(absoluteTolerance * 10);
        expect(Math.abs((adjusted?.slopes[0] as number) - slope)).toBeLessThan(absoluteTolerance * 100);
      }),
      { numRuns: 500, seed: 5 },
    );
  });

  it('takes out what leftover differences in three matching variables explain', () => {
    fc.assert(
      fc.property(numbers(15), numbers(15), numbers(15), (a, b, c) => {
        const differences = a.map((x, i) => 0.7 + 2 * x - 3 * (b[i] as number) + 0.5 * (c[i] as number));
        const adjusted = adjustedDifference(differences, [a, b, c], [1, 1, 1]);
        fc.pre(adjusted?.slopes.every((slope) => slope !== null) ?? false);
        expect(adjusted?.estimate).toBeCloseTo(0.7, 6);
        expect(adjusted?.slopes[0]).toBeCloseTo(2, 6);
        expect(adjusted?.slopes[1]).toBeCloseTo(-3, 6);
        expect(adjusted?.slopes[2]).toBeCloseTo(0.5, 6);
        expect(adjusted?.degreesOfFreedom).toBe(11);
      }),
      { numRuns: 200, seed: 6 },
    );
  });

  it('drops variables that do not vary or repeat another, and then is the plain paired difference', () => {
    const differences = Float64Array.of(1, 3, 2, 5, 4, 4.5);
    const constant = new Float64Array(6).fill(0.02);
    const raw = pairedDifference(differences);
    const adjusted = adjustedDifference(differences, [new Float64Array(6), constant], [0.03, 0.03]);
    expect(adjusted?.slopes).toEqual([null, null]);
    expect(adjusted?.estimate).toBeCloseTo(raw.estimate, 12);
    expect(adjusted?.standardError).toBeCloseTo(raw.standardError, 12);
    const speed = Float64Array.of(0.01, -0.02, 0.03, 0, 0.01, -0.04);
    const doubled = speed.map((value) => 2 * value);
    const once = adjustedDifference(differences, [speed], [0.1]);
    const twice = adjustedDifference(differences, [speed, doubled], [0.1, 0.1]);
    expect(twice?.slopes[1]).toBeNull();
    expect(twice?.estimate).toBe(once?.estimate);
    expect(twice?.degreesOfFreedom).toBe(4);
  });

  it('gives nothing when too few pairs are left to judge the spread', () => {
    const leftover = Float64Array.of(0.1, -0.2, 0.3);
    expect(adjustedDifference(Float64Array.of(1, 2, 4), [leftover], [1])).toBeNull();
  });
});

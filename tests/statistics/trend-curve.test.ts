import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { derivativesAt, fitPolynomial } from '../../src/kinematics/fit-polynomial.ts';
import { trendCurve, trendValue } from '../../src/statistics/trend-curve.ts';

/** Digits that normal equations keep on the mapped abscissa, relative to the largest value. */
const tolerance = 1e-8;

describe('a trend curve', () => {
  it('agrees with our own solver wherever the abscissae lie', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.integer({ min: 0, max: 1000 }), { minLength: 12, maxLength: 60 }),
        fc.constantFrom(0, 1, 1e3, 1e6),
        fc.integer({ min: 1, max: 4 }),
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 60, maxLength: 60 }),
        (places, origin, degree, noise) => {
          const x = Float64Array.from(places, (place) => origin + place / 16);
          const y = x.map((_, i) => 2 + (places[i] ?? 0) / 300 + (noise[i] ?? 0));
          const curve = trendCurve(x, y, degree);
          if (curve === null) throw new Error('no curve');
          const fit = fitPolynomial(x, y, degree);
          for (const at of x) {
            expect(Math.abs(trendValue(curve, at) - (derivativesAt(fit, at, 0, 1).values[0] ?? 0))).toBeLessThan(
              tolerance * 10,
            );
          }
        },
      ),
      { seed: 41, numRuns: 200 },
    );
  });

  it('is none where the points do not determine it', () => {
    expect(trendCurve([1, 1, 1], [1, 2, 3], 1)).toBeNull();
    expect(trendCurve([1, 2], [1, 2], 2)).toBeNull();
    expect(trendCurve([1, 2, 3], [1, Number.NaN, 3], 1)).toBeNull();
    expect(() => trendCurve([1, 2, 3], [1, 2, 3], 5)).toThrow(RangeError);
    expect(() => trendCurve([1, 2, 3], [1, 2], 1)).toThrow('different lengths');
  });
});

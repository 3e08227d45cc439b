/** Slopes corrected for measurement error. */
import { describe, expect, it } from 'vitest';
import { errorsInVariables } from '../../src/statistics/errors-in-variables.ts';
import { classicalVariance, leastSquares } from '../../src/statistics/least-squares.ts';
import { momentsByGroup } from '../../src/statistics/moments.ts';
import { yorkLine } from '../../src/statistics/york-line.ts';
import { expectRelative } from '../harness/expect-relative.ts';

function printed(found: number, value: number, decimals: number): void {
  expect(Math.abs(found - value)).toBeLessThanOrEqual(0.5000001 * 10 ** -decimals);
}

describe('corn yield on soil nitrogen (Fuller 1987, Measurement Error Models, example 1.2.1, pp. 18-20, from memory)', () => {
  const y = [86, 115, 90, 86, 110, 91, 99, 96, 99, 104, 96];
  const x = [70, 97, 53, 64, 95, 64, 50, 70, 94, 69, 51];
  const moments = momentsByGroup(
    2,
    (block, from, to) => {
      for (let at = from; at < to; at += 1) {
        (block[0] as Float64Array)[at - from] = x[at] as number;
        (block[1] as Float64Array)[at - from] = y[at] as number;
      }
    },
    [{ group: 0, from: 0, to: x.length }],
    1,
  );
  const outcome = leastSquares(moments, 'pooled');
  if (!outcome.ok) throw new Error(outcome.reason);
  const { fit } = outcome;

  it('has the moments 304.8545, 104.8818 and 87.6727, and the naive slope .344', () => {
    const products = moments[0]?.products as Float64Array;
    printed((products[0] as number) / 10, 304.8545, 4);
    printed((products[1] as number) / 10, 104.8818, 4);
    printed((products[3] as number) / 10, 87.6727, 4);
    printed(fit.slopes[0] as number, 0.344, 3);
  });

  it('with error variance 57 the slope is .4232, the intercept 67.56 and the standard error .1745', () => {
    const found = errorsInVariables(fit, moments, [Float64Array.of(57, 0, 0, 0)]);
    if (!found.ok) throw new Error('not corrected');
    const slope = found.fit.slopes[0] as number;
    printed(slope, 0.4232, 4);
    printed((fit.means[1] as number) - slope * (fit.means[0] as number), 67.56, 2);
    printed(Math.sqrt(found.fit.classical[0] as number), 0.1745, 4);
    expect(found.fit.clustered).toBeNull();
    printed(found.fit.reliabilities[0] as number, (304.8545 - 57) / 304.8545, 6);
  });

  it('an error variance as large as the spread is not corrected', () => {
    const found = errorsInVariables(fit, moments, [Float64Array.of(305, 0, 0, 0)]);
    expect(found.ok).toBe(false);
    if (!found.ok) expect(found.worstReliability).toBeLessThan(0);
  });
});

describe('thirty pairs with an error variance of .019 in x (SAS/STAT, PROC CALIS, example 29.8)', () => {
  const pairs = [
    7.91736, 13.8673, 6.10807, 11.7966, 6.94139, 12.2174, 7.6129, 12.9761, 6.7719, 11.6356, 6.33328, 11.7732, 7.60608,
    12.804, 6.65642, 12.8866, 6.26643, 11.9382, 7.32266, 13.259, 5.76977, 10.7654, 5.62881, 11.5041, 7.57418, 13.2502,
    7.17305, 13.3416, 8.23123, 13.9876, 7.17199, 13.175, 8.04604, 14.5968, 5.77692, 11.5077, 5.72741, 11.3299, 6.66033,
    12.5159, 7.14944, 12.4988, 7.51832, 12.3588, 5.48877, 11.2211, 7.50323, 13.3735, 7.15814, 13.1556, 7.35485, 13.8457,
    8.91648, 14.4929, 5.37445, 9.6366, 6.00419, 11.7654, 6.89546, 13.1493,
  ];
  const moments = momentsByGroup(
    2,
    (block, from, to) => {
      for (let at = from; at < to; at += 1) {
        (block[0] as Float64Array)[at - from] = pairs[2 * at] as number;
        (block[1] as Float64Array)[at - from] = pairs[2 * at + 1] as number;
      }
    },
    [{ group: 0, from: 0, to: 30 }],
    1,
  );
  const outcome = leastSquares(moments, 'pooled');
  if (!outcome.ok) throw new Error(outcome.reason);
  const { fit } = outcome;

  it('variance of x .79962, naive slope 1.1511 (printed), standard error .101936 (R)', () => {
    printed((moments[0]?.products[0] as number) / 29, 0.79962, 5);
    printed(fit.slopes[0] as number, 1.1511, 4);
    expectRelative(fit.slopes[0] as number, 1.151117418, 5e-10);
    printed(Math.sqrt(classicalVariance(fit, { atMeans: 0, slopes: Float64Array.of(1) })), 0.101936, 6);
    // PROC CALIS divides by n - 1 where least squares divides by n - 2: printed .1002.
    printed(0.101936 * Math.sqrt(28 / 29), 0.1002, 4);
  });

  it('corrected slope S_xy / (S_xx - .019) = 1.179135197 (computed)', () => {
    const found = errorsInVariables(fit, moments, [Float64Array.of(0.019, 0, 0, 0)]);
    if (!found.ok) throw new Error('not corrected');
    expectRelative(found.fit.slopes[0] as number, 1.179135197, 5e-10);
  });
});

describe("Pearson's data with York's weights (York et al. 2004, Table II; Reed 1992; Williamson 1968)", () => {
  const x = Float64Array.of(0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4);
  const y = Float64Array.of(5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5);
  const xError = Float64Array.of(1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1).map((weight) => 1 / Math.sqrt(weight));
  const yError = Float64Array.of(1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500).map((weight) => 1 / Math.sqrt(weight));

  it('line, standard errors and S / (n - 2) as printed and to 12 digits as computed in 30', () => {
    const found = yorkLine({ x, y, xError, yError, covariance: null }, -0.54);
    if (found === null) throw new Error('not settled');
    printed(found.intercept, 5.47991022403, 11);
    printed(found.slope, -0.48053340745, 11);
    expectRelative(found.intercept, 5.47991022403287, 1e-13);
    expectRelative(found.slope, -0.480533407446202, 1e-12);
    printed(found.interceptError, 0.294970735, 9);
    printed(found.slopeError, 0.057985009, 9);
    printed(found.reducedChiSquare, 1.483294149, 9);
    const widening = Math.sqrt(found.reducedChiSquare);
    printed(found.interceptError * widening, 0.359246523, 9);
    printed(found.slopeError * widening, 0.0706202695, 9);
  });

  it('without weights gives the line that Pearson 1901 printed, 5.7857 and -0.546, by equal errors in both', () => {
    const equal = new Float64Array(10).fill(1);
    const found = yorkLine({ x, y, xError: equal, yError: equal, covariance: null }, -0.5);
    printed(found?.slope as number, -0.546, 3);
    // 5.7857 is the line through the means (3.82, 3.7) with the slope as rounded.
    printed(3.7 + 0.546 * 3.82, 5.7857, 4);
    printed(found?.intercept as number, 5.784, 3);
  });

  it('with errors in y alone is weighted least squares, and correlated errors turn it', () => {
    const none = new Float64Array(10).fill(1e-9);
    const equal = new Float64Array(10).fill(1);
    const found = yorkLine({ x, y, xError: none, yError: equal, covariance: null }, -0.5);
    // Ordinary least squares of the ten points.
    const mean = (values: Float64Array) => values.reduce((sum, value) => sum + value, 0) / 10;
    const [centreX, centreY] = [mean(x), mean(y)];
    let [above, below] = [0, 0];
    x.forEach((value, at) => {
      above += (value - centreX) * ((y[at] as number) - centreY);
      below += (value - centreX) * (value - centreX);
    });
    expectRelative(found?.slope as number, above / below, 1e-12);
    const turned = yorkLine({ x, y, xError: equal, yError: equal, covariance: new Float64Array(10).fill(0.9) }, -0.5);
    expect(Math.abs((turned?.slope as number) - (found?.slope as number))).toBeGreaterThan(1e-3);
  });
});

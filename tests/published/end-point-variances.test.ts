/**
 * Variance of speed and acceleration of a least-squares polynomial over equally spaced points, white noise: exact closed
 * forms, derived and confirmed by matrix inversion. The large-sample factors 12, 192, 1200, 4800 and 720, 25920, 317520
 * belong to the fixed-memory polynomial filter (Brookner, Tracking and Kalman Filtering Made Easy (1998), ch. 5)
 * [from memory].
 */
import { describe, expect, it } from 'vitest';
import { derivativesAt, fitPolynomial } from '../../src/kinematics/fit-polynomial.ts';

const relativeTolerance = 1e-11;

function variances(points: number, degree: number, at: 'end' | 'middle', interval = 1) {
  const x = Float64Array.from({ length: points }, (_, i) => i * interval);
  const fit = fitPolynomial(x, x, degree);
  const { covariance } = derivativesAt(
    fit,
    at === 'end' ? (points - 1) * interval : ((points - 1) / 2) * interval,
    2,
    1,
  );
  return { speed: covariance[4] as number, acceleration: covariance[8] as number, mixed: covariance[5] as number };
}

function expectClose(actual: number, expected: number, tolerance = relativeTolerance): void {
  expect(Math.abs(actual / expected - 1)).toBeLessThan(tolerance);
}

describe('end-point and mid-point variances', () => {
  it.each([8, 11, 40, 41, 400])('are the closed forms for %i points', (n) => {
    const cubic = n * (n * n - 1);
    const quintic = cubic * (n * n - 4);
    expectClose(variances(n, 1, 'end').speed, 12 / cubic);
    expectClose(variances(n, 1, 'middle').speed, 12 / cubic);
    expectClose(variances(n, 2, 'middle').speed, 12 / cubic);
    expectClose(variances(n, 2, 'end').speed, (12 * (2 * n - 1) * (8 * n - 11)) / quintic);
    expectClose(variances(n, 2, 'end').acceleration, 720 / quintic);
    expectClose(variances(n, 2, 'middle').acceleration, 720 / quintic);
  });

  it.each([4, 5, 20, 100])(
    'of speed in the middle at degree 3 and 4 are the closed form for 2 * %i + 1 points',
    (m) => {
      const n = 2 * m + 1;
      const numerator = 25 * (3 * m ** 4 + 6 * m ** 3 - 3 * m + 1);
      const denominator = (2 * m + 3) * (m + 2) * (m + 1) * m * (2 * m + 1) * (2 * m - 1) * (m - 1);
      expectClose(variances(n, 3, 'middle').speed, numerator / denominator);
      expectClose(variances(n, 4, 'middle').speed, numerator / denominator);
    },
  );

  it('tend to [p(p+1)(p+2)]^2/3 and [(p-1)p(p+1)(p+2)(p+3)]^2/20 over N T^2 and N T^4 at the end', () => {
    const n = 20_001;
    const interval = 1 / (n - 1);
    const speeds = [12, 192, 1200, 4800];
    const accelerations = [Number.NaN, 720, 25_920, 317_520];
    for (let p = 1; p <= 4; p += 1) {
      const { speed, acceleration } = variances(n, p, 'end', interval);
      expectClose((p * (p + 1) * (p + 2)) ** 2 / 3, speeds[p - 1] ?? 0);
      expectClose(speed * n, speeds[p - 1] ?? 0, 2e-3);
      if (p > 1) expectClose(acceleration * n, accelerations[p - 1] ?? 0, 2e-3);
    }
    // Correlation of speed and acceleration at the end.
    for (const [p, correlation] of [
      [2, 360 / Math.sqrt(192 * 720)],
      [3, 2700 / Math.sqrt(1200 * 6480)],
    ] as const) {
      const { speed, acceleration, mixed } = variances(n, p, 'end', interval);
      expectClose(mixed / Math.sqrt(speed * acceleration), correlation, 1e-3);
    }
  });
});

import { describe, expect, it } from 'vitest';
import { halfWidth95, normalFactor95 } from '../../src/kinematics/coverage.ts';
import { sumOfUniformsHalfWidth95 } from '../../src/kinematics/sum-of-uniforms.ts';
import { normalCdf } from '../../src/statistics/distributions.ts';
import { expectRelative } from '../harness/expect-relative.ts';

/** Mean of f over +-half by Simpson's rule. */
function meanOver(half: number, f: (x: number) => number): number {
  const panels = 2000;
  let sum = 0;
  for (let i = 0; i <= panels; i += 1) {
    const weight = i === 0 || i === panels ? 1 : i % 2 === 1 ? 4 : 2;
    sum += weight * f(-half + (2 * half * i) / panels);
  }
  return sum / (3 * panels);
}

describe('halfWidth95', () => {
  it.each([0.01, 0.03, 0.1, 0.5, 1, 2, 5, 20, 100])('covers 95 %% of normal 1 and rectangular %f', (rectangular) => {
    const half = halfWidth95(1, rectangular);
    const covered = meanOver(rectangular, (x) => normalCdf(half - x) - normalCdf(-half - x));
    expect(Math.abs(covered - 0.95)).toBeLessThan(1e-7);
  });

  it('is the normal one without a rectangular error and 0.95 of its half-width without a normal one', () => {
    expect(halfWidth95(2, 0)).toBe(2 * normalFactor95);
    expect(halfWidth95(0, 2)).toBe(1.9);
  });

  it('scales with its errors', () => {
    expectRelative(halfWidth95(3e-3, 2e-3), 1e-3 * halfWidth95(3, 2), 1e-12);
  });
});

describe('sumOfUniformsHalfWidth95', () => {
  it('is 0.7764 of the base of a triangle', () => {
    expectRelative(sumOfUniformsHalfWidth95(0.5, 0.5), 1 - Math.sqrt(0.05), 1e-15);
  });

  it.each([
    [0.5, 0.5, 0.3],
    [2, 0.5, 0.5],
    [0.5, 3, 0.01],
    [0.5, 0.5, 4],
    [0.01, 0.01, 1],
  ])('covers 95 %% of the sum of uniform errors on +-%f, +-%f, +-%f', (first, second, third) => {
    const half = sumOfUniformsHalfWidth95(first, second, third);
    const insideThird = (x: number) => Math.max(0, Math.min(1, (half - x + third) / (2 * third)));
    const below = (x: number) => Math.max(0, Math.min(1, (-half - x + third) / (2 * third)));
    const covered = meanOver(first, (x) => meanOver(second, (y) => insideThird(x + y) - below(x + y)));
    expect(Math.abs(covered - 0.95)).toBeLessThan(1e-5);
  });

  it('is 95 % of a rectangle when one error is alone', () => {
    expectRelative(sumOfUniformsHalfWidth95(1, 0), 0.95, 1e-15);
  });

  it('does not jump where a third error becomes too small to count', () => {
    expectRelative(sumOfUniformsHalfWidth95(0.5, 1, 1.6e-6), sumOfUniformsHalfWidth95(0.5, 1, 1.4e-6), 1e-7);
  });
});

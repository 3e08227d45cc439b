/**
 * Smoothing and derivative weights of least-squares polynomials on equally spaced points.
 *
 * Centre: Savitzky & Golay, Anal. Chem. 36, 1627 (1964), with the later corrections. End: Gorry, Anal. Chem. 62, 570
 * (1990). All tables from memory, except the 7-point end-point derivative, which is the exact rational solution.
 */
import { describe, expect, it } from 'vitest';
import { derivativesAt, fitPolynomial } from '../../src/kinematics/fit-polynomial.ts';

/** Relative to the largest weight of the table. */
const tolerance = 1e-13;

/** Weight of each point in the d-th derivative at abscissa `at`, points 1 apart: the fit of a unit spike there. */
function weights(points: number, degree: number, derivative: number, at: 'centre' | 'end'): number[] {
  const x = Float64Array.from({ length: points }, (_, i) => i);
  const abscissa = at === 'centre' ? (points - 1) / 2 : points - 1;
  return Array.from({ length: points }, (_, spike) => {
    const y = Float64Array.from(x, (_value, i) => (i === spike ? 1 : 0));
    return derivativesAt(fitPolynomial(x, y, degree), abscissa, derivative, 1).values[derivative] as number;
  });
}

interface Table {
  readonly points: number;
  readonly degree: number;
  readonly derivative: number;
  readonly at: 'centre' | 'end';
  readonly numerators: readonly number[];
  readonly divisor: number;
}

const centre: Table[] = [
  { points: 5, degree: 2, derivative: 0, at: 'centre', numerators: [-3, 12, 17, 12, -3], divisor: 35 },
  { points: 7, degree: 2, derivative: 0, at: 'centre', numerators: [-2, 3, 6, 7, 6, 3, -2], divisor: 21 },
  { points: 5, degree: 2, derivative: 1, at: 'centre', numerators: [-2, -1, 0, 1, 2], divisor: 10 },
  { points: 7, degree: 2, derivative: 1, at: 'centre', numerators: [-3, -2, -1, 0, 1, 2, 3], divisor: 28 },
  { points: 5, degree: 3, derivative: 1, at: 'centre', numerators: [1, -8, 0, 8, -1], divisor: 12 },
  { points: 7, degree: 4, derivative: 1, at: 'centre', numerators: [22, -67, -58, 0, 58, 67, -22], divisor: 252 },
  { points: 5, degree: 2, derivative: 2, at: 'centre', numerators: [2, -1, -2, -1, 2], divisor: 7 },
  { points: 7, degree: 3, derivative: 2, at: 'centre', numerators: [5, 0, -3, -4, -3, 0, 5], divisor: 42 },
];
const end: Table[] = [
  { points: 5, degree: 2, derivative: 1, at: 'end', numerators: [26, -27, -40, -13, 54], divisor: 70 },
  { points: 5, degree: 2, derivative: 2, at: 'end', numerators: [2, -1, -2, -1, 2], divisor: 7 },
  { points: 7, degree: 2, derivative: 1, at: 'end', numerators: [7, -2, -7, -8, -5, 2, 13], divisor: 28 },
  { points: 7, degree: 2, derivative: 2, at: 'end', numerators: [5, 0, -3, -4, -3, 0, 5], divisor: 42 },
];

describe('smoothing-derivative weights', () => {
  it.each([...centre, ...end])(
    'are those of the tables: $points points, degree $degree, derivative $derivative, $at',
    ({ points, degree, derivative, at, numerators, divisor }) => {
      const actual = weights(points, degree, derivative, at);
      const largest = Math.max(...numerators.map((value) => Math.abs(value))) / divisor;
      actual.forEach((weight, i) => {
        expect(Math.abs(weight - (numerators[i] as number) / divisor)).toBeLessThanOrEqual(tolerance * largest);
      });
    },
  );
});

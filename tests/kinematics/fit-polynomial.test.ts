import fc from 'fast-check';
import { PolynomialRegression } from 'ml-regression-polynomial';
import { describe, expect, it } from 'vitest';
import { derivativesAt, fitPolynomial, leverage, residualVariance } from '../../src/kinematics/fit-polynomial.ts';
import { powerCoefficients } from '../../src/kinematics/power-coefficients.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { normalDeviates, seededUniform } from './simulated-strokes.ts';

const distinctPoints = fc
  .uniqueArray(fc.integer({ min: -1000, max: 1000 }), { minLength: 8, maxLength: 60 })
  .map((values) => Float64Array.from(values, (value) => value / 1000));
const coefficientList = fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: 1, maxLength: 6 });

describe('fitPolynomial', () => {
  it('finds back any polynomial of its degree, value and derivatives, inside and beyond the points', () => {
    fc.assert(
      fc.property(distinctPoints, coefficientList, fc.double({ min: -1.2, max: 1.2, noNaN: true }), (x, powers, at) => {
        const value = (t: number) => powers.reduceRight((sum, power) => sum * t + power, 0);
        const slope = (t: number) => powers.reduceRight((sum, power, k) => (k === 0 ? sum : sum * t + k * power), 0);
        const fit = fitPolynomial(x, x.map(value), powers.length - 1);
        const { values } = derivativesAt(fit, at, 1, 1);
        // A handful of points close together says little about a place far off: allow for the noise of rounding there.
        const { covariance } = derivativesAt(fit, at, 1, 1e-28);
        expect(Math.abs((values[0] as number) - value(at))).toBeLessThan(
          1e-12 + 1e3 * Math.sqrt(covariance[0] as number),
        );
        expect(Math.abs((values[1] as number) - slope(at))).toBeLessThan(
          1e-11 + 1e3 * Math.sqrt(covariance[3] as number),
        );
      }),
      { seed: 11 },
    );
  });

  it('leaves residuals without any polynomial of its degree, and leverages that sum to its coefficients', () => {
    fc.assert(
      fc.property(distinctPoints, fc.integer({ min: 0, max: 5 }), fc.integer(), (x, degree, seed) => {
        const normal = normalDeviates(seededUniform(seed));
        const fit = fitPolynomial(x, x.map(normal), degree);
        let leverages = 0;
        for (let i = 0; i < x.length; i += 1) leverages += leverage(fit, i);
        expectRelative(leverages, degree + 1, 1e-9, 'sum of leverages');
        for (
          let k = 0, power = x.map(() => 1);
          k <= degree;
          k += 1, power = power.map((p, i) => p * (x[i] as number))
        ) {
          const product = power.reduce((sum, p, i) => sum + p * (fit.residuals[i] as number), 0);
          expect(Math.abs(product)).toBeLessThan(1e-10 * x.length);
        }
      }),
      { seed: 12 },
    );
  });

  it('gives the same line wherever the origin of time lies', () => {
    const normal = normalDeviates(seededUniform(3));
    const x = Float64Array.from({ length: 50 }, (_, i) => i / 64);
    const y = x.map((t) => 2 + 3 * t - t * t + 0.01 * normal());
    const near = derivativesAt(fitPolynomial(x, y, 3), 0.5, 2);
    const far = derivativesAt(
      fitPolynomial(
        x.map((t) => t + 4096),
        y,
        3,
      ),
      4096.5,
      2,
    );
    for (let d = 0; d <= 2; d += 1) expectRelative(far.values[d] as number, near.values[d] as number, 1e-9);
    for (let k = 0; k < 9; k += 1) expectRelative(far.covariance[k] as number, near.covariance[k] as number, 1e-9);
  });

  it('has the covariance that repeated noise shows', () => {
    const normal = normalDeviates(seededUniform(4));
    const x = Float64Array.from({ length: 30 }, (_, i) => (i - 29) / 29);
    const repeats = 4000;
    let speeds = 0;
    let squares = 0;
    let products = 0;
    for (let n = 0; n < repeats; n += 1) {
      const { values } = derivativesAt(fitPolynomial(x, x.map(normal), 3), 0, 2);
      speeds += (values[1] as number) ** 2 / repeats;
      squares += (values[2] as number) ** 2 / repeats;
      products += ((values[1] as number) * (values[2] as number)) / repeats;
    }
    const { covariance } = derivativesAt(fitPolynomial(x, x, 3), 0, 2, 1);
    const samplingError = 4 * Math.sqrt(2 / repeats);
    expectRelative(speeds, covariance[4] as number, samplingError, 'variance of the first derivative');
    expectRelative(squares, covariance[8] as number, samplingError, 'variance of the second derivative');
    expectRelative(products, covariance[5] as number, samplingError, 'their covariance');
  });

  it('refuses fewer distinct abscissae than coefficients', () => {
    const twice = Float64Array.of(0, 0, 0.3, 0.3, 1, 1);
    expect(() => fitPolynomial(twice, twice, 3)).toThrow(RangeError);
    expect(() => fitPolynomial(Float64Array.of(0, 1), Float64Array.of(0, 1), 2)).toThrow(RangeError);
    expect(() => fitPolynomial(Float64Array.of(0, 1), Float64Array.of(0), 1)).toThrow(RangeError);
    expect(fitPolynomial(twice, twice, 2).residualSumsOfSquares[2]).toBeLessThan(1e-30);
  });
});

describe('the drawing library of polynomial trends', () => {
  it.each([1, 2, 3])('agrees with our solver at degree %i on a mapped abscissa', (degree) => {
    const normal = normalDeviates(seededUniform(5));
    const x = Float64Array.from({ length: 40 }, (_, i) => -1 + (2 * i) / 39);
    const y = x.map((t) => 1.2 - 0.3 * t + 0.2 * t * t + 0.1 * t * t * t + 0.05 * normal());
    const theirs = new PolynomialRegression(Array.from(x), Array.from(y), degree).coefficients;
    const fit = fitPolynomial(x, y, degree);
    const ours = powerCoefficients(fit, 0, residualVariance(fit)).values;
    expect(theirs).toHaveLength(degree + 1);
    theirs.forEach((coefficient, k) => {
      expectRelative(coefficient, ours[k] as number, 1e-10, `coefficient ${k}`);
    });
  });
});

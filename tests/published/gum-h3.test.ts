/**
 * Calibration line of a thermometer: Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008, example H.3
 * [data and results from memory; the results to every digit remembered].
 */
import { expect, it } from 'vitest';
import { derivativesAt, fitPolynomial, residualVariance } from '../../src/kinematics/fit-polynomial.ts';
import { powerCoefficients } from '../../src/kinematics/power-coefficients.ts';

/** Thermometer reading, degrees Celsius. */
const readings = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
/** Observed correction, degrees Celsius. */
const corrections = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16];
/** The line is y1 + y2 (t - 20). */
const reference = 20;

it('reproduces the line, its standard uncertainties and their correlation, and the correction at 30 degrees', () => {
  const fit = fitPolynomial(Float64Array.from(readings), Float64Array.from(corrections), 1);
  const { values, covariance } = powerCoefficients(fit, reference);
  const [variance1 = 0, covariance12 = 0, , variance2 = 0] = covariance;
  expect(values[0]?.toFixed(4)).toBe('-0.1712');
  expect(Math.sqrt(variance1).toFixed(4)).toBe('0.0029');
  expect(values[1]?.toFixed(5)).toBe('0.00218');
  expect(Math.sqrt(variance2).toFixed(5)).toBe('0.00067');
  expect((covariance12 / Math.sqrt(variance1 * variance2)).toFixed(3)).toBe('-0.930');
  expect(Math.sqrt(residualVariance(fit)).toFixed(4)).toBe('0.0035');

  const at30 = derivativesAt(fit, 30, 0);
  expect(at30.values[0]?.toFixed(4)).toBe('-0.1494');
  expect(Math.sqrt(at30.covariance[0] as number).toFixed(4)).toBe('0.0041');
});

/**
 * NIST Statistical Reference Datasets, linear least squares (doi 10.18434/T43G6C), on the fit that the tracks use.
 * Data and certified values as printed there. LRE = -log10 of the relative error: number of correct digits.
 */
import { describe, expect, it } from 'vitest';
import { fitPolynomial, residualVariance } from '../../src/kinematics/fit-polynomial.ts';
import { powerCoefficients } from '../../src/kinematics/power-coefficients.ts';
import { filip, type NistPolynomial, pontius } from './nist-polynomial-data.ts';
import { norris } from './norris-data.ts';

/** y at x = 0, 1, ..., 20. */
const wampler = {
  wampler1: [
    1, 6, 63, 364, 1365, 3906, 9331, 19608, 37449, 66430, 111111, 177156, 271453, 402234, 579195, 813616, 1118481,
    1508598, 2000719, 2613660, 3368421,
  ],
  wampler2: [
    1.0, 1.11111, 1.24992, 1.42753, 1.65984, 1.96875, 2.38336, 2.94117, 3.68928, 4.68559, 6.0, 7.71561, 9.92992,
    12.75603, 16.32384, 20.78125, 26.29536, 33.05367, 41.26528, 51.16209, 63.0,
  ],
  wampler3: [
    760, -2042, 2111, -1684, 3888, 1858, 11379, 17560, 39287, 64382, 113159, 175108, 273291, 400186, 581243, 811568,
    1121004, 1506550, 2002767, 2611612, 3369180,
  ],
  wampler4: [
    75901, -204794, 204863, -204436, 253665, -200894, 214131, -185192, 221249, -138370, 315911, -27644, 455253, 197434,
    783995, 608816, 1370781, 1303798, 2205519, 2408860, 3444321,
  ],
  wampler5: [
    7590001, -20479994, 20480063, -20479636, 25231365, -20476094, 20489331, -20460392, 18417449, -20413570, 20591111,
    -20302844, 18651453, -20077766, 21059195, -19666384, 26348481, -18971402, 22480719, -17866340, 10958421,
  ],
} as const;

function logRelativeError(actual: number, certified: number): number {
  const error = Math.abs(actual - certified) / (certified === 0 ? 1 : Math.abs(certified));
  return error === 0 ? 16 : -Math.log10(error);
}

function totalSumOfSquares(y: Float64Array): number {
  const mean = y.reduce((sum, value) => sum + value, 0) / y.length;
  return y.reduce((sum, value) => sum + (value - mean) ** 2, 0);
}

function powerFit(x: ArrayLike<number>, y: ArrayLike<number>, degree: number) {
  const response = Float64Array.from(y);
  const fit = fitPolynomial(Float64Array.from(x), response, degree);
  const { values, covariance } = powerCoefficients(fit);
  return {
    coefficients: Array.from(values),
    standardErrors: Array.from(values, (_, k) => Math.sqrt(covariance[k * (degree + 2)] as number)),
    residualStandardDeviation: Math.sqrt(residualVariance(fit)),
    rSquared: 1 - (fit.residualSumsOfSquares[degree] as number) / totalSumOfSquares(response),
  };
}

function expectDigits(actual: readonly number[], certified: readonly number[], digits: number): void {
  expect(actual).toHaveLength(certified.length);
  actual.forEach((value, k) => {
    expect(logRelativeError(value, certified[k] as number), `coefficient ${k} = ${value}`).toBeGreaterThanOrEqual(
      digits,
    );
  });
}

describe('NIST StRD polynomials on the track fit', () => {
  it('reproduces Norris (degree 1) to 11 digits', () => {
    const fit = powerFit(
      norris.map((row) => row[1]),
      norris.map((row) => row[0]),
      1,
    );
    expectDigits(fit.coefficients, [-0.262323073774029, 1.00211681802045], 11);
    expectDigits(fit.standardErrors, [0.232818234301152, 0.429796848199937e-3], 11);
    expectDigits([fit.residualStandardDeviation, fit.rSquared], [0.884796396144373, 0.999993745883712], 11);
  });

  const abscissae = Array.from({ length: 21 }, (_, x) => x);
  const ones = [1, 1, 1, 1, 1, 1];
  // Standard errors of Wampler3; those of 4 and 5 are 100 and 10,000 times larger.
  const errors = [
    2152.3262467817, 2363.55173469681, 779.343524331583, 101.47550755035, 5.64566512170752, 0.112324854679312,
  ];
  const decimals = [1, 0.1, 0.01, 1e-3, 1e-4, 1e-5];

  it.each([
    ['Wampler1', wampler.wampler1, ones, 8],
    ['Wampler2', wampler.wampler2, decimals, 11],
  ] as const)('reproduces %s (degree 5, no scatter)', (_, y, certified, digits) => {
    const fit = powerFit(abscissae, y, 5);
    expectDigits(fit.coefficients, certified, digits);
    expect(fit.residualStandardDeviation / Math.max(...y)).toBeLessThan(1e-14);
    expectDigits([fit.rSquared], [1], 14);
  });

  it.each([
    ['Wampler3', wampler.wampler3, 1, 2360.14502379268, 0.99999555902582, 8],
    ['Wampler4', wampler.wampler4, 100, 236014.502379268, 0.957478440825662, 8],
    ['Wampler5', wampler.wampler5, 10_000, 23601450.2379268, 0.0022466892157494, 7.5],
  ] as const)('reproduces %s (degree 5, large scatter)', (_, y, factor, scatter, rSquared, digits) => {
    const fit = powerFit(abscissae, y, 5);
    expectDigits(fit.coefficients, ones, digits);
    expectDigits(
      fit.standardErrors,
      errors.map((error) => error * factor),
      11,
    );
    expectDigits([fit.residualStandardDeviation, fit.rSquared], [scatter, rSquared], 11);
  });

  it.each([
    ['Pontius', pontius, 2, 11, 10],
    ['Filip', filip, 10, 9, 7],
  ] as const satisfies readonly (readonly [string, NistPolynomial, number, number, number])[])(
    'reproduces %s, which defeats normal equations in plain powers',
    (_, set, degree, digits, errorDigits) => {
      const fit = powerFit(set.x, set.y, degree);
      expectDigits(fit.coefficients, set.coefficients, digits);
      expectDigits(fit.standardErrors, set.standardErrors, errorDigits);
      expectDigits(
        [fit.residualStandardDeviation, fit.rSquared],
        [set.residualStandardDeviation, set.determination],
        errorDigits,
      );
    },
  );
});

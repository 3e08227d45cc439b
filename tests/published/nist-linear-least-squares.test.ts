/**
 * NIST Statistical Reference Datasets, linear least squares (doi 10.18434/T43G6C): certified values as printed there.
 * LRE = -log10 of the largest relative error of the coefficients (McCullough 1998): number of correct digits.
 */
import { describe, expect, it } from 'vitest';
import { fitTerms, fitThroughOrigin, polynomialTerms, type RawFit } from '../statistics/fit-polynomial.ts';
import fixture from './fixtures/nist.json' with { type: 'json' };
import { norris } from './norris-data.ts';

/** Rows y, x1 .. x6. */
const longley = [
  [60323, 83, 234289, 2356, 1590, 107608, 1947],
  [61122, 88.5, 259426, 2325, 1456, 108632, 1948],
  [60171, 88.2, 258054, 3682, 1616, 109773, 1949],
  [61187, 89.5, 284599, 3351, 1650, 110929, 1950],
  [63221, 96.2, 328975, 2099, 3099, 112075, 1951],
  [63639, 98.1, 346999, 1932, 3594, 113270, 1952],
  [64989, 99, 365385, 1870, 3547, 115094, 1953],
  [63761, 100, 363112, 3578, 3350, 116219, 1954],
  [66019, 101.2, 397469, 2904, 3048, 117388, 1955],
  [67857, 104.6, 419180, 2822, 2857, 118734, 1956],
  [68169, 108.4, 442769, 2936, 2798, 120445, 1957],
  [66513, 110.8, 444546, 4681, 2637, 121950, 1958],
  [68655, 112.6, 482704, 3813, 2552, 123366, 1959],
  [69564, 114.2, 502601, 3931, 2514, 125368, 1960],
  [69331, 115.7, 518173, 4806, 2572, 127852, 1961],
  [70551, 116.9, 554894, 4007, 2827, 130081, 1962],
] as const;

const x = Array.from({ length: 21 }, (_, k) => k);
const quintic = x.map((at) => 1 + at * (1 + at * (1 + at * (1 + at * (1 + at)))));
/** Wampler3 - Wampler1; Wampler4 and Wampler5 hold 100 and 10,000 times as much. */
const deviations = [
  759, -2048, 2048, -2048, 2523, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 2523, -2048,
  2048, -2048, 759,
];
/** Wampler2 as printed: sum of (x / 10)^k, k = 0 .. 5. */
const wampler2 = [
  1.0, 1.11111, 1.24992, 1.42753, 1.65984, 1.96875, 2.38336, 2.94117, 3.68928, 4.68559, 6.0, 7.71561, 9.92992, 12.75603,
  16.32384, 20.78125, 26.29536, 33.05367, 41.26528, 51.16209, 63.0,
];
const wampler = (factor: number) => quintic.map((value, k) => value + factor * (deviations[k] as number));

function relativeError(found: number, certified: number): number {
  return Math.abs(found - certified) / Math.abs(certified);
}

/** Correct digits of the worst value; 16 when all are exact. */
function digits(found: readonly number[], certified: readonly number[]): number {
  const worst = Math.max(...certified.map((value, k) => relativeError(found[k] as number, value)));
  return worst === 0 ? 16 : -Math.log10(worst);
}

describe('NIST StRD linear least squares', () => {
  it('Norris: coefficients to 11 digits, standard errors, residual standard deviation and R squared', () => {
    const found = fitTerms(
      polynomialTerms(1),
      [norris.map(([, value]) => value)],
      norris.map(([value]) => value),
    );
    expect(digits(found.coefficients, [-0.262323073774029, 1.00211681802045])).toBeGreaterThanOrEqual(11);
    expect(digits(found.standardErrors, [0.232818234301152, 0.429796848199937e-3])).toBeGreaterThanOrEqual(10);
    expectSpread(found, 0.884796396144373, 0.999993745883712);
  });

  it('Longley: six collinear predictors to 11 digits', () => {
    const predictors = Array.from({ length: 6 }, (_, j) => longley.map((row) => row[j + 1] as number));
    const terms = predictors.map((_, variable) => [{ variable, power: 1 }]);
    const found = fitTerms(
      terms,
      predictors,
      longley.map((row) => row[0]),
    );
    const certified = [
      -3482258.63459582, 15.0618722713733, -0.35819179292591e-1, -2.02022980381683, -1.03322686717359,
      -0.511041056535807e-1, 1829.15146461355,
    ];
    expect(digits(found.coefficients, certified)).toBeGreaterThanOrEqual(11);
    expect(digits(found.standardErrors, [890420.383607373, 84.9149257747669])).toBeGreaterThanOrEqual(10);
    expectSpread(found, 304.854073561965, 0.995479004577296);
    // Variance inflation as widely reprinted for these data, to the two decimals given.
    const inflation = [135.53, 1788.51, 33.62, 3.59, 399.15, 758.98];
    inflation.forEach((value, j) => {
      expect(Math.abs((found.fit.varianceInflation[j] as number) - value)).toBeLessThan(0.0051);
    });
  });

  it.each([
    { set: 'Wampler1', y: wampler(0), certified: [1, 1, 1, 1, 1, 1], lre: 8 },
    { set: 'Wampler2', y: wampler2, certified: [1, 0.1, 0.01, 0.001, 0.0001, 0.00001], lre: 11 },
    { set: 'Wampler3', y: wampler(1), certified: [1, 1, 1, 1, 1, 1], lre: 8 },
    { set: 'Wampler4', y: wampler(100), certified: [1, 1, 1, 1, 1, 1], lre: 8 },
    { set: 'Wampler5', y: wampler(10_000), certified: [1, 1, 1, 1, 1, 1], lre: 7.5 },
  ])('$set: coefficients of the fifth degree to $lre digits', ({ y, certified, lre }) => {
    const found = fitTerms(polynomialTerms(5), [x], y);
    expect(digits(found.coefficients, certified)).toBeGreaterThanOrEqual(lre);
  });

  it.each([
    { set: 'Wampler3', factor: 1, deviation: 2360.14502379268, determination: 0.99999555902582 },
    { set: 'Wampler4', factor: 100, deviation: 236014.502379268, determination: 0.957478440825662 },
    { set: 'Wampler5', factor: 10_000, deviation: 23601450.2379268, determination: 0.22466892157494e-2 },
  ])('$set: standard errors, residual standard deviation and R squared', ({ factor, deviation, determination }) => {
    const found = fitTerms(polynomialTerms(5), [x], wampler(factor));
    const certified = [
      2152.3262467817, 2363.55173469681, 779.343524331583, 101.47550755035, 5.64566512170752, 0.112324854679312,
    ];
    expect(
      digits(
        found.standardErrors,
        certified.map((value) => value * factor),
      ),
    ).toBeGreaterThanOrEqual(9);
    expectSpread(found, deviation, determination);
  });
});

/** Sets whose files fixtures/make-fixtures.R reads from Debian's gretl-data. */
describe('NIST StRD sets from their files', () => {
  it.each([
    { set: 'Norris', degree: 1, lre: 11, errors: 10 },
    { set: 'Pontius', degree: 2, lre: 11, errors: 9 },
    { set: 'Filip', degree: 10, lre: 13, errors: 8 },
  ] as const)('$set: degree $degree to $lre digits', ({ set, degree, lre, errors }) => {
    const { y, x: predictors, ...certified } = fixture.sets[set];
    const found = fitTerms(polynomialTerms(degree), predictors, y);
    expect(digits(found.coefficients, certified.coefficients)).toBeGreaterThanOrEqual(lre);
    expect(digits(found.standardErrors, certified.standardErrors)).toBeGreaterThanOrEqual(errors);
    expectSpread(found, certified.residualStandardDeviation, certified.determination);
  });

  it.each(['NoInt1', 'NoInt2'] as const)('%s: a line through the origin to 14 digits', (set) => {
    const { y, x: predictors, ...certified } = fixture.sets[set];
    const found = fitThroughOrigin(polynomialTerms(1), predictors, y);
    expect(digits(found.coefficients, certified.coefficients)).toBeGreaterThanOrEqual(14);
    expect(digits(found.standardErrors, certified.standardErrors)).toBeGreaterThanOrEqual(11);
    expectSpread(found, certified.residualStandardDeviation, certified.determination);
  });
});

function expectSpread({ fit }: RawFit, deviation: number, determination: number): void {
  expect(relativeError(Math.sqrt(fit.residualVariance), deviation)).toBeLessThan(1e-9);
  expect(relativeError(1 - fit.residualSumOfSquares / fit.totalSumOfSquares, determination)).toBeLessThan(1e-11);
}

/**
 * Cluster-robust standard errors on public data sets. Petersen's test data: values printed in the README of the R package
 * sandwich (and Petersen 2009). MortalityRates: the question is that of a clubSandwich vignette, the values are R's.
 * More digits from R through fixtures/make-fixtures.R.
 */
import { describe, expect, it } from 'vitest';
import { clusterRobust, clustersOfGroups, informationShares } from '../../src/statistics/cluster-robust.ts';
import { studentTwoSided } from '../../src/statistics/distributions.ts';
import { clusterRobustJointTest, type JointTest } from '../../src/statistics/joint-test.ts';
import { type Contrast, classicalVariance, leastSquares } from '../../src/statistics/least-squares.ts';
import { type Moments, momentsByGroup } from '../../src/statistics/moments.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import fixture from './fixtures/cluster-robust.json' with { type: 'json' };

const agreement = 1e-10;

function printed(found: number, value: number, decimals: number): void {
  expect(Math.abs(found - value)).toBeLessThanOrEqual(0.5000001 * 10 ** -decimals);
}

/** Moments by group of columns in the given order of rows. */
function moments(columns: readonly (readonly number[])[], groups: readonly number[]): Moments[] {
  const order = [...groups.keys()].sort((a, b) => (groups[a] as number) - (groups[b] as number) || a - b);
  const names = [...new Set(order.map((row) => groups[row] as number))];
  let from = 0;
  const segments = names.map((name, group) => {
    const to = from + groups.filter((each) => each === name).length;
    const segment = { group, from, to };
    from = to;
    return segment;
  });
  const fill = (block: readonly Float64Array[], start: number, end: number) => {
    columns.forEach((column, j) => {
      for (let at = start; at < end; at += 1) {
        (block[j] as Float64Array)[at - start] = column[order[at] as number] as number;
      }
    });
  };
  return momentsByGroup(columns.length, fill, segments, names.length);
}

function fitOf(groups: readonly Moments[], model: 'pooled' | 'within') {
  const outcome = leastSquares(groups, model);
  if (!outcome.ok) throw new Error(outcome.reason);
  return outcome.fit;
}

/** Approximate Hotelling T squared (Wald_test of clubSandwich, test HTZ). */
function expectJoint(found: JointTest | null, reference: JointTest): void {
  expect(found?.numeratorDegrees).toBe(reference.numeratorDegrees);
  expectRelative(found?.denominatorDegrees as number, reference.denominatorDegrees, 1e-7);
  expectRelative(found?.f as number, reference.f, 1e-8);
  expectRelative(found?.pValue as number, reference.pValue, 1e-6);
}

describe("Petersen's test data: 500 firms, 10 years", () => {
  const { firms, years } = fixture.Petersen;
  // The data are single precision; nine digits give them back exactly.
  const x = fixture.Petersen.x.map(Math.fround);
  const y = fixture.Petersen.y.map(Math.fround);
  const byFirm = moments(
    [x, y],
    x.map((_, row) => Math.floor(row / years)),
  );
  const byYear = moments(
    [x, y],
    x.map((_, row) => row % years),
  );
  const intercept = (mean: number): Contrast => ({ atMeans: 1, slopes: Float64Array.of(-mean) });
  const slope: Contrast = { atMeans: 0, slopes: Float64Array.of(1) };

  it('ordinary least squares: coefficients .0297 and 1.0348, standard errors .0284 and .0286', () => {
    const fit = fitOf(byFirm, 'pooled');
    const contrasts = [intercept(fit.means[0] as number), slope];
    const level = (fit.means[1] as number) - (fit.slopes[0] as number) * (fit.means[0] as number);
    printed(level, 0.0297, 4);
    printed(fit.slopes[0] as number, 1.0348, 4);
    expectRelative(fit.slopes[0] as number, fixture.Petersen.coefficients[1] as number, agreement);
    contrasts.forEach((contrast, j) => {
      const error = Math.sqrt(classicalVariance(fit, contrast));
      printed(error, [0.0284, 0.0286][j] as number, 4);
      expectRelative(error, fixture.Petersen.classical[j] as number, agreement);
    });
  });

  it('clustered by firm: .0670 and .0506 (CR1 with the factor (N - 1) / (N - k))', () => {
    const fit = fitOf(byFirm, 'pooled');
    const found = clusterRobust(fit, byFirm, [intercept(fit.means[0] as number), slope]);
    const stata = (fit.count - 1) / (fit.count - 2);
    found.forEach(({ cr0, cr1 }, j) => {
      printed(Math.sqrt(cr1 * stata), [0.067, 0.0506][j] as number, 4);
      expectRelative(Math.sqrt(cr1 * stata), fixture.Petersen.firmCr1s[j] as number, agreement);
      expectRelative(Math.sqrt(cr0), fixture.Petersen.firmCr0[j] as number, agreement);
    });
    expectRelative(
      informationShares(fit, byFirm).reduce((sum, share) => sum + share, 0),
      1,
      agreement,
    );
    expect(byFirm.length).toBe(firms);
  });

  it('clustered by year: CR1 .0234 and .0334, CR2 with Satterthwaite degrees 9.00 and 8.99', () => {
    const fit = fitOf(byYear, 'pooled');
    const found = clusterRobust(fit, byYear, [intercept(fit.means[0] as number), slope]);
    const stata = (fit.count - 1) / (fit.count - 2);
    found.forEach(({ cr1, cr2, degreesOfFreedom }, j) => {
      expectRelative(Math.sqrt(cr1 * stata), fixture.Petersen.yearCr1s[j] as number, agreement);
      expectRelative(Math.sqrt(cr2), fixture.Petersen.yearCr2.standardErrors[j] as number, agreement);
      expectRelative(degreesOfFreedom, fixture.Petersen.yearCr2.degreesOfFreedom[j] as number, 1e-8);
      printed(degreesOfFreedom, [9, 8.99][j] as number, 2);
    });
  });

  it('both coefficients together, by year', () => {
    const fit = fitOf(byYear, 'pooled');
    const level = (fit.means[1] as number) - (fit.slopes[0] as number) * (fit.means[0] as number);
    const contrasts = [intercept(fit.means[0] as number), slope];
    const estimates = [level, fit.slopes[0] as number];
    const found = clusterRobustJointTest(fit, clustersOfGroups(fit, byYear), contrasts, estimates, true);
    expectJoint(found, fixture.Petersen.yearJoint);
  });
});

describe('MortalityRates: states absorbed, years as predictors', () => {
  const { state, year, legal, beertaxa, mrate, coefficients, cr1, cr2 } = fixture.MortalityRates;
  const dummies = [...new Set(year)]
    .sort((a, b) => a - b)
    .slice(1)
    .map((name) => year.map((each) => (each === name ? 1 : 0)));
  const groups = moments([legal, beertaxa, ...dummies, mrate], state);
  const fit = fitOf(groups, 'within');
  const contrasts = [0, 1].map((j): Contrast => {
    const slopes = new Float64Array(fit.predictors);
    slopes[j] = 1;
    return { atMeans: 0, slopes };
  });
  const found = clusterRobust(fit, groups, contrasts);

  it('legal 7.59 and beer tax 3.82, with CR1 errors 2.44 and 5.14 on 49 degrees of freedom', () => {
    found.forEach(({ cr1: variance }, j) => {
      expectRelative(fit.slopes[j] as number, coefficients[j] as number, 1e-9);
      printed(fit.slopes[j] as number, [7.59, 3.82][j] as number, 2);
      expectRelative(Math.sqrt(variance), cr1.standardErrors[j] as number, 1e-9);
      printed(Math.sqrt(variance), [2.44, 5.14][j] as number, 2);
    });
    expect(cr1.degreesOfFreedom).toEqual([groups.length - 1, groups.length - 1]);
    printed(studentTwoSided((fit.slopes[0] as number) / Math.sqrt(found[0]?.cr1 as number), 49), 0.00313, 5);
  });

  it('CR2 with Satterthwaite: 2.51 on 24.58 and 5.27 on 5.77 degrees of freedom, p .00583 and .49663', () => {
    found.forEach(({ cr2: variance, degreesOfFreedom }, j) => {
      const error = Math.sqrt(variance);
      expectRelative(error, cr2.standardErrors[j] as number, 1e-9);
      expectRelative(degreesOfFreedom, cr2.degreesOfFreedom[j] as number, 1e-8);
      printed(error, [2.51, 5.27][j] as number, 2);
      printed(degreesOfFreedom, [24.58, 5.77][j] as number, 2);
      printed(studentTwoSided((fit.slopes[j] as number) / error, degreesOfFreedom), [0.00583, 0.49663][j] as number, 5);
    });
  });

  it('both together: the F test of the approximate Hotelling distribution', () => {
    const estimates = [fit.slopes[0] as number, fit.slopes[1] as number];
    const test = clusterRobustJointTest(fit, clustersOfGroups(fit, groups), contrasts, estimates, false);
    expectJoint(test, fixture.MortalityRates.joint);
  });
});

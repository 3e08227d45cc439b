/**
 * Two-stage synthesis on the BCG vaccine trials (dat.bcg of metafor; log risk ratios). Printed values from metafor's
 * tests and documentation as named at each check; more digits from metafor itself through fixtures/make-fixtures.R.
 */
import { describe, expect, it } from 'vitest';
import { weightedMean } from '../../src/statistics/between-variance.ts';
import { normalQuantile, studentQuantile } from '../../src/statistics/distributions.ts';
import { synthesis } from '../../src/statistics/synthesis.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import fixture from './fixtures/bcg.json' with { type: 'json' };

const { tpos, tneg, cpos, cneg, reference } = fixture;
const trials = tpos.map((cases, g) => ({ t: [cases, tneg[g] as number], c: [cpos[g] as number, cneg[g] as number] }));
const estimates = trials.map(({ t: [a, b], c: [c, d] }) =>
  Math.log((a as number) / ((a as number) + (b as number)) / ((c as number) / ((c as number) + (d as number)))),
);
const variances = trials.map(
  ({ t: [a, b], c: [c, d] }) =>
    1 / (a as number) - 1 / ((a as number) + (b as number)) + 1 / (c as number) - 1 / ((c as number) + (d as number)),
);
const z = normalQuantile(0.975);
const closed = 1e-12;
/** metafor iterates to about 1e-12 in tau2 for REML; its Paule-Mandel root stops at about 1e-4. */
const iterated = 1e-9;

function printed(found: number, value: number, decimals: number): void {
  expect(Math.abs(found - value)).toBeLessThanOrEqual(0.5000001 * 10 ** -decimals);
}

describe('the BCG vaccine trials', () => {
  it('have the effects and variances of escalc', () => {
    estimates.forEach((estimate, g) => {
      expectRelative(estimate, reference.yi[g] as number, closed);
      expectRelative(variances[g] as number, reference.vi[g] as number, closed);
    });
  });

  it('common effect (metafor test_misc_metan_vs_rma.uni_with_dat.bcg.r, checked against Stata metan)', () => {
    const { mean, totalWeight, heterogeneity } = weightedMean(estimates, variances, 0);
    const error = 1 / Math.sqrt(totalWeight);
    printed(mean, -0.4303, 4);
    printed(error, 0.0405, 4);
    printed(mean / error, -10.6247, 4);
    printed(mean - z * error, -0.5097, 4);
    printed(mean + z * error, -0.3509, 4);
    printed(heterogeneity, 152.233, 4);
    expectRelative(heterogeneity, reference.common.Q, closed);
  });

  it('DerSimonian-Laird (same source), and with Knapp-Hartung (metafor site output)', () => {
    const found = synthesis(estimates, variances, 'DL', 0.95);
    printed(found.estimate, -0.7141, 4);
    printed(found.estimate - z * found.normalError, -1.0644, 4);
    printed(found.estimate + z * found.normalError, -0.3638, 4);
    printed(found.estimate / found.normalError, -3.9952, 4);
    printed(found.tau2, 0.3088, 4);
    printed(100 * found.inconsistency, 92.1173, 4);
    printed(found.excess, 12.69, 2);
    printed(found.hartungKnappError, 0.1807, 4);
    printed(found.estimate / found.hartungKnappError, -3.952, 4);
    const reach = studentQuantile(0.975, 12) * found.hartungKnappError;
    printed(found.estimate - reach, -1.1078, 4);
    printed(found.estimate + reach, -0.3204, 4);
    expectRelative(found.tau2, reference.DL.tau2, closed);
    expectRelative(found.hartungKnappError, reference.DLHK.standardError, closed);
  });

  it('REML (metafor rma.uni.html) with its normal prediction interval (predict.rma.html)', () => {
    const found = synthesis(estimates, variances, 'REML', 0.95);
    printed(found.tau2, 0.3132, 4);
    printed(Math.sqrt(found.tau2), 0.5597, 4);
    printed(100 * found.inconsistency, 92.22, 2);
    printed(found.excess, 12.86, 2);
    printed(found.estimate, -0.7145, 4);
    printed(found.normalError, 0.1798, 4);
    printed(found.estimate / found.normalError, -3.9744, 4);
    printed(found.estimate - z * found.normalError, -1.0669, 4);
    printed(found.estimate + z * found.normalError, -0.3622, 4);
    const reach = z * Math.sqrt(found.tau2 + found.normalError * found.normalError);
    printed(found.estimate - reach, -1.87, 2);
    printed(found.estimate + reach, 0.44, 2);
    expectRelative(found.tau2, reference.REML.tau2, iterated);
    expectRelative(found.estimate, reference.REML.estimate, iterated);
  });

  it('REML with Hartung-Knapp, and both prediction intervals by t (computed with metafor)', () => {
    const found = synthesis(estimates, variances, 'REML', 0.95);
    expectRelative(found.hartungKnappError, reference.REMLHK.standardError, iterated);
    printed(found.hartungKnappPrediction.lower, -1.996017, 6);
    printed(found.hartungKnappPrediction.upper, 0.566952, 6);
    printed(found.prediction?.lower ?? 0, -2.008376, 6);
    printed(found.prediction?.upper ?? 0, 0.579311, 6);
    expect(found.modifiedError).toBe(found.hartungKnappError);
  });

  it('Paule-Mandel (metafor test_misc_rma_uni.r): tau2 at which Q equals its degrees of freedom', () => {
    const found = synthesis(estimates, variances, 'PM', 0.95);
    printed(found.tau2, 0.3181, 4);
    expectRelative(weightedMean(estimates, variances, found.tau2).heterogeneity, 12, closed);
    expectRelative(found.estimate, reference.PM.estimate, 1e-5);
    expectRelative(found.hartungKnappError, reference.PMHK.standardError, 1e-5);
  });

  it('Q profile of tau2 and I2 (metafor confint.rma.html)', () => {
    const { tau2Interval, tau2, inconsistency } = synthesis(estimates, variances, 'REML', 0.95);
    printed(tau2Interval.lower, 0.1197, 4);
    printed(tau2Interval.upper, 1.1115, 4);
    const typical = (tau2 * (1 - inconsistency)) / inconsistency;
    // The page prints 81.9177, from a root at its default tolerance of 1e-4; the exact root, given here, is 81.9206.
    expectRelative(
      (100 * tau2Interval.lower) / (tau2Interval.lower + typical),
      reference.profile.I2[0] as number,
      1e-6,
    );
    printed((100 * tau2Interval.upper) / (tau2Interval.upper + typical), 97.6781, 4);
  });

  it('leaving one trial out (metafor leave1out.html): all 13, with those of trials 4 and 8 as printed', () => {
    const without = (out: number) => {
      const keep = <Item>(items: readonly Item[]) => items.filter((_, g) => g !== out);
      return synthesis(keep(estimates), keep(variances), 'REML', 0.95);
    };
    reference.leaveOneOut.estimate.forEach((estimate, out) => {
      const found = without(out);
      expectRelative(found.estimate, estimate, 1e-7);
      expectRelative(found.normalError, reference.leaveOneOut.standardError[out] as number, 1e-7);
      expectRelative(found.tau2, reference.leaveOneOut.tau2[out] as number, 1e-7);
      expectRelative(100 * found.inconsistency, reference.leaveOneOut.I2[out] as number, 1e-7);
    });
    const [fourth, eighth] = [without(3), without(7)];
    printed(fourth.estimate, -0.6284, 4);
    printed(fourth.normalError, 0.1766, 4);
    printed(fourth.tau2, 0.2628, 4);
    printed(100 * fourth.inconsistency, 90.4125, 4);
    printed(eighth.estimate, -0.7948, 4);
    printed(eighth.normalError, 0.1799, 4);
    printed(eighth.tau2, 0.2732, 4);
    printed(100 * eighth.inconsistency, 87.0314, 4);
  });

  it('odds ratios by maximum likelihood (van Houwelingen et al. 2002; metafor test_analysis_example_vanhouwelingen2002.r)', () => {
    const logOdds = trials.map(({ t: [a, b], c: [c, d] }) =>
      Math.log(((a as number) * (d as number)) / ((b as number) * (c as number))),
    );
    const errors = trials.map(({ t, c }) => [...t, ...c].reduce((sum, count) => sum + 1 / count, 0));
    const found = synthesis(logOdds, errors, 'ML', 0.95);
    printed(found.tau2, 0.3025, 4);
    // metafor 3.8-1 gives .3024565827, from an iteration that stops at about 1e-8.
    expectRelative(found.tau2, 0.3024565827, 1e-7);
    printed(Math.exp(found.estimate), 0.4762, 4);
    const ratio = (reach: number) => Math.exp(found.estimate + reach);
    printed(ratio(-z * found.normalError), 0.336, 4);
    printed(ratio(z * found.normalError), 0.6749, 4);
    const reach = studentQuantile(0.975, 12) * found.hartungKnappError;
    printed(ratio(-reach), 0.3175, 4);
    printed(ratio(reach), 0.7141, 4);
  });
});

/** Two one-sided tests against the known results of the R package TOSTER (tests/testthat/test-known_results.R). */
import { describe, expect, it } from 'vitest';
import { equivalenceTest } from '../../src/statistics/equivalence-test.ts';
import { studentInterval } from '../../src/statistics/paired-difference.ts';

/** A paired difference from means, standard deviations and correlation; n - 1 degrees of freedom. */
function fromSummary(n: number, means: [number, number], deviations: [number, number], correlation: number) {
  const [a, b] = deviations;
  const spread = Math.sqrt(a * a + b * b - 2 * correlation * a * b);
  return {
    estimate: means[0] - means[1],
    standardError: spread / Math.sqrt(n),
    degreesOfFreedom: n - 1,
    spread,
  };
}

describe('two one-sided tests on paired data (Lakens 2017, Soc. Psychol. Pers. Sci. 8:355)', () => {
  it('reproduces n 65, means 5.83 and 5.75, SD 1.17 and 1.30, r .745, bounds +-.34', () => {
    const difference = fromSummary(65, [5.83, 5.75], [1.17, 1.3], 0.745);
    const test = equivalenceTest(difference, 0.34, 0.05);
    expect(difference.degreesOfFreedom).toBe(64);
    expect(Math.abs(test.tLower - 3.803437)).toBeLessThan(5e-7);
    expect(Math.abs(test.pLower - 0.0001606103)).toBeLessThan(5e-11);
    expect(Math.abs(test.tUpper + 2.354508)).toBeLessThan(5e-7);
    expect(Math.abs(test.pUpper - 0.01081349)).toBeLessThan(5e-9);
    expect(Math.abs(test.interval.lower + 0.1043032)).toBeLessThan(5e-8);
    expect(Math.abs(test.interval.upper - 0.2643032)).toBeLessThan(5e-8);
    const wide = studentInterval(difference, 0.95);
    expect(Math.abs(wide.lower + 0.1406022)).toBeLessThan(5e-8);
    expect(Math.abs(wide.upper - 0.3006022)).toBeLessThan(5e-8);
    expect(test.equivalent).toBe(true);
  });

  it('reproduces SD 1.29, r .75 and bounds of 0.4 standard deviations of the difference', () => {
    const difference = fromSummary(65, [5.83, 5.75], [1.17, 1.29], 0.75);
    const margin = 0.4 * difference.spread;
    expect(Math.abs(margin - 0.350782)).toBeLessThan(5e-7);
    const test = equivalenceTest(difference, margin, 0.05);
    expect(Math.abs(test.tLower - 3.960381)).toBeLessThan(5e-7);
    expect(Math.abs(test.pLower - 0.00009531728)).toBeLessThan(5e-12);
    expect(Math.abs(test.tUpper + 2.489426)).toBeLessThan(5e-7);
    expect(Math.abs(test.pUpper - 0.00770235)).toBeLessThan(5e-9);
    expect(Math.abs(test.interval.lower + 0.1015433)).toBeLessThan(5e-8);
    expect(Math.abs(test.interval.upper - 0.2615433)).toBeLessThan(5e-8);
  });

  it('reproduces the arithmetic of the NCSS example: difference -8.1153846, SE 51.114285, 27 df, bounds +-110', () => {
    // TOSTER tests/testthat/test-NCSS1.R quoting the NCSS manual; two samples, so only the test itself is checked.
    const difference = { estimate: -8.1153846, standardError: 51.114285, degreesOfFreedom: 27 };
    const { pLower, pUpper } = equivalenceTest(difference, 110, 0.05);
    expect(Math.abs(pLower - 0.02821)).toBeLessThan(5e-6);
    expect(Math.abs(pUpper - 0.01436)).toBeLessThan(5e-6);
    // The same without assuming equal variances (Welch): standard error 53.618547, 19.169 degrees of freedom.
    const welch = equivalenceTest({ ...difference, standardError: 53.618547, degreesOfFreedom: 19.169 }, 110, 0.05);
    expect(Math.abs(welch.pLower - 0.03628)).toBeLessThan(5e-6);
    expect(Math.abs(welch.pUpper - 0.02002)).toBeLessThan(5e-6);
  });
});

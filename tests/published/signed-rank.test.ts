/** Wilcoxon's signed-rank test and the Hodges-Lehmann interval against what others have printed and what R computes. */
import { describe, expect, it } from 'vitest';
import { worstCaseNormalP } from '../../src/statistics/hidden-bias.ts';
import { hodgesLehmann } from '../../src/statistics/hodges-lehmann.ts';
import { normalTails, rankSumDistribution, signedRanks, signedRankTest } from '../../src/statistics/signed-rank.ts';
import { comparisonFixture } from './comparison-fixture.ts';

const differencesOf = (x: readonly number[], y: readonly number[]): Float64Array =>
  Float64Array.from(x, (value, i) => value - (y[i] as number));

describe("Student's sleep data, drug 1 minus drug 2", () => {
  const differences = differencesOf(
    [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0],
    [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4],
  );

  it('have V = 0, one zero left out, and p = .009090698 by the normal approximation with continuity correction', () => {
    // R 4.2.2 wilcox.test; R ?sleep, widely reprinted [from memory].
    const test = signedRankTest(differences, 'dropped');
    expect(test).toMatchObject({ statistic: 0, zeros: 1, tied: 2 });
    const { pLess } = normalTails(signedRanks(differences, 'dropped'));
    expect(Math.abs(2 * pLess - 0.009090698)).toBeLessThan(5e-10);
  });

  it('have an exact two-sided p of 2 / 2^9, as all nine signs agree', () => {
    expect(signedRankTest(differences, 'dropped')).toMatchObject({ exact: true, pTwoSided: 2 / 512 });
  });
});

describe('depression scale factors (Hollander & Wolfe 1973, p. 29f; R ?wilcox.test)', () => {
  const x = [1.83, 0.5, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.3];
  const y = [0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29];
  const differences = differencesOf(x, y);

  it('have V = 40 and a one-sided p of .01953 = 10 / 512, .01908 by the large-sample approximation', () => {
    const test = signedRankTest(differences);
    expect(test.statistic).toBe(40);
    expect(test.pGreater).toBe(10 / 512);
    expect(test.pTwoSided).toBe(0.0390625);
    expect(Math.abs(worstCaseNormalP(differences, 1) - 0.01908)).toBeLessThan(5e-6);
  });

  it('have the Hodges-Lehmann estimate .46 and the exact interval .010 to .786 at 96.1 %', () => {
    const { estimate, interval, achieved, exact } = hodgesLehmann(differences, 0.95);
    expect(exact).toBe(true);
    expect(Math.abs(estimate - 0.46)).toBeLessThan(1e-12);
    expect(Math.abs(interval.lower - 0.01)).toBeLessThan(1e-12);
    expect(Math.abs(interval.upper - 0.786)).toBeLessThan(1e-12);
    expect(Math.abs(achieved - 0.961)).toBeLessThan(5e-4);
  });
});

describe('the null distribution of the rank sum', () => {
  it('has the tabulated critical values of the two-sided 5 % test for 6 to 25 pairs', () => {
    // Largest T with P(T <= t) <= 0.025 (McCornack 1965, J. Am. Stat. Assoc. 60:864 [from memory]; R 4.2.2 psignrank).
    const tabulated = [0, 2, 3, 5, 8, 10, 13, 17, 21, 25, 29, 34, 40, 46, 52, 58, 65, 73, 81, 89];
    const found = tabulated.map((_, at) => {
      const n = at + 6;
      const distribution = rankSumDistribution(
        Array.from({ length: n }, (_rank, i) => i + 1),
        0.5,
      );
      let sum = 0;
      let critical = -1;
      while (sum + (distribution[critical + 1] as number) <= 0.025) {
        critical += 1;
        sum += distribution[critical] as number;
      }
      return critical;
    });
    expect(found).toEqual(tabulated);
  });

  it('has the tabulated upper tails for 3 to 5 pairs (Hollander & Wolfe, table A.4 [from memory]: .125, .062, .031)', () => {
    const tails = [3, 4, 5].map((n) => signedRankTest(Float64Array.from({ length: n }, (_, i) => i + 1)).pGreater);
    expect(tails).toEqual([0.125, 0.0625, 0.03125]);
  });
});

it('agrees with wilcox.test of R on sixty sets without ties: statistic, exact p, interval; and with the median of all Walsh averages', () => {
  for (const set of comparisonFixture().signedRanks) {
    const differences = Float64Array.from(set.x);
    const test = signedRankTest(differences);
    const found = hodgesLehmann(differences, 0.95);
    expect(test).toMatchObject({ statistic: set.statistic, tied: 0, exact: true });
    expect(Math.abs(test.pTwoSided - set.p)).toBeLessThan(1e-12);
    expect(Math.abs(found.estimate - set.estimate)).toBeLessThan(1e-12);
    expect(Math.abs(found.interval.lower - set.lower)).toBeLessThan(1e-12);
    expect(Math.abs(found.interval.upper - set.upper)).toBeLessThan(1e-12);
  }
});

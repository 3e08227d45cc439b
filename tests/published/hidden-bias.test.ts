/**
 * Lead in the blood of 33 children and their matched controls (Morton et al. 1982), the example of Rosenbaum,
 * Observational Studies, 2nd ed. 2002, section 4.3. Data as in the help pages psens and hlsens of the R package rbounds.
 */
import { describe, expect, it } from 'vitest';
import { effectUnderBias, toleratedBias, worstCaseNormalP, worstCaseP } from '../../src/statistics/hidden-bias.ts';
import { signedRankTest } from '../../src/statistics/signed-rank.ts';

const exposed = [
  38, 23, 41, 18, 37, 36, 23, 62, 31, 34, 24, 14, 21, 17, 16, 20, 15, 10, 45, 39, 22, 35, 49, 48, 44, 35, 43, 39, 34,
  13, 73, 25, 27,
];
const controls = [
  16, 18, 18, 24, 19, 11, 10, 15, 16, 18, 18, 13, 19, 10, 16, 16, 24, 13, 9, 14, 21, 19, 7, 18, 19, 12, 11, 22, 25, 16,
  13, 11, 13,
];
const differences = Float64Array.from(exposed, (value, i) => value - (controls[i] as number));

describe('lead in 33 matched pairs', () => {
  it('has T = 527 with the one zero ranked, then dropped; 499 when it is dropped first', () => {
    expect(signedRankTest(differences, 'rankedThenDropped').statistic).toBe(527);
    expect(signedRankTest(differences, 'dropped').statistic).toBe(499);
  });

  it('has the printed upper bounds of p for Gamma from 1 to 5 [from memory of table 4.2]', () => {
    const printed: [gamma: number, p: number][] = [
      [2, 0.0018],
      [3, 0.0136],
      [4, 0.0388],
      [4.25, 0.0468],
      [5, 0.074],
    ];
    for (const [gamma, p] of printed) expect(Math.abs(worstCaseNormalP(differences, gamma) - p)).toBeLessThan(5e-5);
    expect(worstCaseNormalP(differences, 1)).toBeLessThan(1e-4);
  });

  it('agrees with R 4.2.2 to every digit noted', () => {
    const computed: [gamma: number, p: number][] = [
      [2, 0.0017899],
      [3, 0.0136153],
      [4, 0.0387898],
      [4.25, 0.0468251],
      [5, 0.0739907],
    ];
    for (const [gamma, p] of computed) expect(Math.abs(worstCaseNormalP(differences, gamma) - p)).toBeLessThan(5e-8);
  });

  it('has the printed Hodges-Lehmann bounds: 15 alone; 10.25 to 19.5, 8 to 23, 6.5 to 25, 5 to 26.5 [from memory]', () => {
    const estimates = [1, 2, 3, 4, 5].map((gamma) => effectUnderBias(differences, gamma, 0.95).estimates);
    expect(estimates).toEqual([
      { lower: 15, upper: 15 },
      { lower: 10.25, upper: 19.5 },
      { lower: 8, upper: 23 },
      { lower: 6.5, upper: 25 },
      { lower: 5, upper: 26.5 },
    ]);
  });

  it('tolerates a bias somewhat above four at 5 %, where the counted worst case reaches 5 %', () => {
    const gamma = toleratedBias(differences, 0.05) as number;
    expect(gamma).toBeGreaterThan(4.25);
    expect(gamma).toBeLessThan(5);
    expect(Math.abs(worstCaseP(differences, gamma) - 0.05)).toBeLessThan(1e-7);
  });
});

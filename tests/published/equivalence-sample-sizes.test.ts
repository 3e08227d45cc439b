/** Sample sizes and power of equivalence tests that others have tabulated. */
import ln from '@stdlib/math-base-special-ln';
import { describe, expect, it } from 'vitest';
import { normalQuantile } from '../../src/statistics/distributions.ts';
import { pairsForDifference, pairsForEquivalence } from '../../src/statistics/equivalence-pairs.ts';
import { differencePower, equivalencePower } from '../../src/statistics/paired-power.ts';

/**
 * Hauschke, Steinijans & Pigeot, Bioequivalence Studies in Drug Development (2007), table 5.1: two-period crossover,
 * limits 0.80 to 1.25, power 80 %, alpha 5 %. Rows for ratios of 1.00 and 0.95 [from memory], reproduced to the digit
 * by direct integration in R 4.2.2. The spread of logarithms within subjects is sqrt(ln(1 + CV^2)), the standard error
 * of n subjects s sqrt(2 / n) with n - 2 degrees of freedom, and n is even.
 */
const table51 = {
  variation: [0.1, 0.125, 0.15, 0.175, 0.2, 0.225, 0.25, 0.275, 0.3],
  ratioOne: [6, 8, 10, 14, 16, 20, 24, 28, 32],
  ratio095: [8, 10, 12, 16, 20, 24, 28, 34, 40],
};
const crossover = (variation: number, ratio: number) => ({
  pairSpread: Math.sqrt(2 * ln(1 + variation * variation)),
  alpha: 0.05,
  power: 0.8,
  difference: ln(ratio),
  degreesOfFreedom: (subjects: number) => subjects - 2,
});
const limit = ln(1.25);
const even = (subjects: number | null): number => 2 * Math.ceil((subjects as number) / 2);

describe('sample sizes for equivalence', () => {
  it('are those of the handbook table for the two-period crossover', () => {
    const row = (ratio: number) =>
      table51.variation.map((variation) => even(pairsForEquivalence(crossover(variation, ratio), limit)));
    expect(row(1)).toEqual(table51.ratioOne);
    expect(row(0.95)).toEqual(table51.ratio095);
  });

  it('reach the power of 0.815845 that PowerTOST prints for 40 subjects at CV 0.3 and ratio 0.95 [from memory]', () => {
    const { pairSpread, difference } = crossover(0.3, 0.95);
    const test = { standardError: pairSpread / Math.sqrt(40), degreesOfFreedom: 38, difference };
    expect(Math.abs(equivalencePower(test, limit, 0.05) - 0.815845)).toBeLessThan(5e-7);
  });

  it('come to the 35 of Chow, Shao & Wang (one sample, margin 0.05, SD 0.1) in their normal approximation', () => {
    // Sample Size Calculations in Clinical Research (2003), as in the example of TrialSize::OneSampleMean.Equivalence:
    // (z(0.95) + z(0.90))^2 (0.1 / 0.05)^2. The exact number of pairs allows for the estimated spread.
    const z = normalQuantile(0.95) + normalQuantile(0.9);
    expect(Math.ceil((z * 0.1 * (z * 0.1)) / (0.05 * 0.05))).toBe(35);
    const exact = pairsForEquivalence({ pairSpread: 0.1, alpha: 0.05, power: 0.8, difference: 0 }, 0.05);
    expect(exact).toBe(36); // R 4.2.2, direct integration
  });
});

describe('sample sizes for a paired difference', () => {
  it('are those of R 4.2.2 power.t.test(type = "paired", strict = TRUE)', () => {
    // n = 43.9955111 for difference 0.5 and power 0.9; 198.1508210 for 0.2 and 0.8; powers of 20 and of 6 pairs.
    const base = { pairSpread: 1, alpha: 0.05 };
    expect(pairsForDifference({ ...base, power: 0.9, difference: 0.5 })).toBe(44);
    expect(pairsForDifference({ ...base, power: 0.8, difference: 0.2 })).toBe(199);
    const power = (pairs: number, difference: number): number =>
      differencePower({ standardError: 1 / Math.sqrt(pairs), degreesOfFreedom: pairs - 1, difference }, 0.05);
    expect(Math.abs(power(20, 0.5) - 0.564504418439084)).toBeLessThan(1e-9);
    expect(Math.abs(power(6, 1.3) - 0.721854570853503)).toBeLessThan(1e-9);
  });
});

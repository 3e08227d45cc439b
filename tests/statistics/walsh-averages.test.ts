import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { effectUnderBias, toleratedBias, worstCaseP } from '../../src/statistics/hidden-bias.ts';
import { hodgesLehmann } from '../../src/statistics/hodges-lehmann.ts';
import { countedTails, normalTails, signedRanks, signedRankTest } from '../../src/statistics/signed-rank.ts';
import { WalshAverages } from '../../src/statistics/walsh-averages.ts';
import { randomOf } from '../studies/generated-shots.ts';

const settings = { numRuns: 300, seed: 5 };
/** Coarse values are often equal, fine ones never. */
const values = fc.oneof(
  fc.array(fc.integer({ min: -4, max: 4 }), { minLength: 1, maxLength: 25 }),
  fc.array(fc.double({ min: -10, max: 10, noNaN: true }), { minLength: 1, maxLength: 25 }),
);

describe('Walsh averages', () => {
  it('have the order statistics of all averages formed and sorted', () => {
    fc.assert(
      fc.property(values, (given) => {
        const all = given.flatMap((a, i) => given.slice(i).map((b) => (a + b) / 2)).sort((a, b) => a - b);
        const averages = new WalshAverages(Float64Array.from(given));
        expect(averages.count).toBe(all.length);
        for (let k = 1; k <= all.length; k += 1) expect(averages.at(k) === all[k - 1]).toBe(true);
      }),
      settings,
    );
  });

  it('are found among fifty thousand numbers without forming them', () => {
    const random = randomOf(3);
    const many = Float64Array.from({ length: 50_000 }, () => 0.3 + random.normal(1));
    // Standard error of the estimate is about 1.02 / sqrt(n) = 0.0046.
    expect(Math.abs(new WalshAverages(many).median() - 0.3)).toBeLessThan(0.02);
  });
});

describe('signed ranks', () => {
  it('count the tails as trying every sign does, with ties and with either rule for zeros', () => {
    const few = fc.array(fc.integer({ min: -3, max: 3 }), { minLength: 1, maxLength: 9 });
    fc.assert(
      fc.property(few, fc.constantFrom('dropped' as const, 'rankedThenDropped' as const), (given, rule) => {
        const ranks = signedRanks(Float64Array.from(given), rule);
        const { doubledRanks, doubledStatistic } = ranks;
        const n = doubledRanks.length;
        let atLeast = 0;
        let atMost = 0;
        for (let signs = 0; signs < 1 << n; signs += 1) {
          let sum = 0;
          for (let k = 0; k < n; k += 1) if ((signs >> k) % 2 === 1) sum += doubledRanks[k] as number;
          if (sum >= doubledStatistic) atLeast += 1;
          if (sum <= doubledStatistic) atMost += 1;
        }
        const { pGreater, pLess } = countedTails(ranks, 0.5);
        expect(pGreater).toBe(atLeast / (1 << n));
        expect(pLess).toBe(atMost / (1 << n));
      }),
      settings,
    );
  });

  it('lie near the normal approximation for two hundred differences', () => {
    const random = randomOf(8);
    const many = Float64Array.from({ length: 200 }, () => 0.1 + random.normal(1));
    const ranks = signedRanks(many, 'dropped');
    expect(Math.abs(countedTails(ranks, 0.5).pGreater - normalTails(ranks).pGreater)).toBeLessThan(0.001);
    expect(signedRankTest(new Float64Array(4)).pTwoSided).toBe(1);
  });
});

describe('the Hodges-Lehmann interval', () => {
  it('holds the centre as often as it says', () => {
    const random = randomOf(12);
    const runs = 2000;
    let held = 0;
    let achieved = 0;
    for (let run = 0; run < runs; run += 1) {
      const found = hodgesLehmann(
        Float64Array.from({ length: 9 }, () => 1 + random.uniform(-1, 1)),
        0.9,
      );
      achieved = found.achieved;
      if (found.interval.lower <= 1 && found.interval.upper >= 1) held += 1;
    }
    // Standard error of the share is 0.007.
    expect(Math.abs(held / runs - achieved)).toBeLessThan(0.02);
  });

  it('goes over to the normal approximation above two hundred differences without a jump', () => {
    const random = randomOf(21);
    const many = Float64Array.from({ length: 201 }, () => random.normal(1));
    const counted = hodgesLehmann(many.subarray(0, 200), 0.95);
    const normal = hodgesLehmann(many, 0.95);
    expect([counted.exact, normal.exact]).toEqual([true, false]);
    const width = ({ interval }: typeof counted): number => interval.upper - interval.lower;
    expect(Math.abs(width(normal) / width(counted) - 1)).toBeLessThan(0.05);
  });
});

describe('a hidden bias', () => {
  it('of one leaves p and estimate as they are, and a larger one widens both', () => {
    const random = randomOf(2);
    const differences = Float64Array.from({ length: 30 }, () => 1.5 + random.normal(1));
    expect(worstCaseP(differences, 1)).toBeCloseTo(signedRankTest(differences).pGreater, 12);
    const alone = effectUnderBias(differences, 1, 0.95).estimates;
    expect(alone.lower).toBe(hodgesLehmann(differences, 0.95).estimate);
    expect(alone.upper).toBe(alone.lower);
    const more = effectUnderBias(differences, 2, 0.95);
    expect(more.estimates.lower).toBeLessThan(alone.lower);
    expect(more.interval.lower).toBeLessThan(more.estimates.lower);
    const gamma = toleratedBias(differences, 0.05) as number;
    expect(worstCaseP(differences, gamma * 1.01)).toBeGreaterThan(0.05);
    expect(worstCaseP(differences, gamma * 0.99)).toBeLessThan(0.05);
  });

  it('is not asked about when there is no finding to take away', () => {
    expect(toleratedBias(Float64Array.of(-1, 2, -3, 1), 0.05)).toBeNull();
    expect(toleratedBias(new Float64Array(5), 0.05)).toBeNull();
  });
});

import { describe, expect, it } from 'vitest';
import { pairsForDifference, pairsForEquivalence } from '../../src/statistics/equivalence-pairs.ts';
import { equivalenceTest } from '../../src/statistics/equivalence-test.ts';
import { pairedDifference } from '../../src/statistics/paired-difference.ts';
import { differencePower, equivalencePower } from '../../src/statistics/paired-power.ts';
import { randomOf } from '../studies/generated-shots.ts';

const plan = { pairSpread: 2, alpha: 0.05, power: 0.8, difference: 0 };

/** Share of experiments of n pairs with standard deviation 1 in which the two tests establish equivalence. */
function share(n: number, difference: number, margin: number, runs: number): number {
  const random = randomOf(n + 1);
  let claimed = 0;
  for (let run = 0; run < runs; run += 1) {
    const differences = Float64Array.from({ length: n }, () => difference + random.normal(1));
    if (equivalenceTest(pairedDifference(differences), margin, 0.05).equivalent) claimed += 1;
  }
  return claimed / runs;
}

describe('equivalencePower', () => {
  it('is the share of experiments that establish equivalence, also for few pairs and off the middle', () => {
    for (const [n, difference, margin] of [
      [5, 0, 1.5],
      [12, 0.2, 1],
      [40, -0.1, 0.4],
    ] as const) {
      const test = { standardError: 1 / Math.sqrt(n), degreesOfFreedom: n - 1, difference };
      // Standard error of a share in 5000 experiments: at most 0.007
      expect(Math.abs(share(n, difference, margin, 5000) - equivalencePower(test, margin, 0.05))).toBeLessThan(0.022);
    }
  });

  it('is alpha at the margin when the spread is small, and falls outside it', () => {
    const at = (difference: number): number =>
      equivalencePower({ standardError: 0.01, degreesOfFreedom: 30, difference }, 0.5, 0.05);
    expect(Math.abs(at(0.5) - 0.05)).toBeLessThan(1e-9);
    expect(at(0.53)).toBeLessThan(0.001);
    expect(at(0.2)).toBeGreaterThan(0.999999);
    expect(at(-0.45)).toBeCloseTo(at(0.45), 12);
  });
});

describe('equivalenceTest', () => {
  it('errs in 5 % of cases when the true difference lies on the margin', () => {
    expect(Math.abs(share(20, 1, 1, 6000) - 0.05)).toBeLessThan(0.01);
    expect(Math.abs(share(20, -1, 1, 6000) - 0.05)).toBeLessThan(0.01);
  });

  it('finds equivalence exactly when both one-sided p are below alpha', () => {
    for (let step = -30; step <= 30; step++) {
      const test = equivalenceTest({ estimate: step / 20, standardError: 0.3, degreesOfFreedom: 11 }, 1, 0.05);
      expect(test.equivalent).toBe(Math.max(test.pLower, test.pUpper) < 0.05);
    }
  });
});

describe('pairsForEquivalence', () => {
  it('is the least number with the power asked for', () => {
    const pairs = pairsForEquivalence(plan, 1.5) as number;
    const power = (n: number): number =>
      equivalencePower({ standardError: 2 / Math.sqrt(n), degreesOfFreedom: n - 1, difference: 0 }, 1.5, 0.05);
    expect(power(pairs)).toBeGreaterThanOrEqual(0.8);
    expect(power(pairs - 1)).toBeLessThan(0.8);
  });

  it('grows with the square of spread over margin', () => {
    const wide = pairsForEquivalence({ ...plan, pairSpread: 1 }, 0.2) as number;
    const narrow = pairsForEquivalence({ ...plan, pairSpread: 1 }, 0.1) as number;
    expect(narrow / wide).toBeGreaterThan(3.9);
    expect(narrow / wide).toBeLessThan(4.1);
  });

  it('gives up beyond a million pairs and where the difference assumed reaches the margin', () => {
    expect(pairsForEquivalence({ ...plan, pairSpread: 1 }, 1e-6)).toBeNull();
    expect(pairsForEquivalence({ ...plan, difference: 1.5 }, 1.5)).toBeNull();
  });

  it('grows as the difference assumed comes nearer to the margin', () => {
    const needed = [0, 0.5, 1, 1.4].map((difference) => pairsForEquivalence({ ...plan, difference }, 1.5) as number);
    expect([...needed].sort((a, b) => a - b)).toEqual(needed);
    expect(new Set(needed).size).toBe(4);
  });

  it('takes the degrees of freedom that an adjustment leaves', () => {
    const degreesOfFreedom = (pairs: number): number => pairs - 4;
    const needed = pairsForEquivalence({ ...plan, pairSpread: 1, degreesOfFreedom }, 2) as number;
    expect(needed).toBeGreaterThan(pairsForEquivalence({ ...plan, pairSpread: 1 }, 2) as number);
    expect(needed).toBeGreaterThanOrEqual(5);
  });
});

describe('pairsForDifference', () => {
  it('is the least number with the power asked for, and none for no difference', () => {
    const asked = { ...plan, difference: 0.8 };
    const pairs = pairsForDifference(asked) as number;
    const power = (n: number): number =>
      differencePower({ standardError: 2 / Math.sqrt(n), degreesOfFreedom: n - 1, difference: 0.8 }, 0.05);
    expect(power(pairs)).toBeGreaterThanOrEqual(0.8);
    expect(power(pairs - 1)).toBeLessThan(0.8);
    expect(pairsForDifference(plan)).toBeNull();
  });
});

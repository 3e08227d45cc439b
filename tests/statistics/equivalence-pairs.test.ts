import { describe, expect, it } from 'vitest';
import { normalQuantile } from '../../src/statistics/distributions.ts';
import { pairsForEquivalence } from '../../src/statistics/equivalence-pairs.ts';
import { equivalenceTest } from '../../src/statistics/equivalence-test.ts';
import { pairedDifference } from '../../src/statistics/paired-difference.ts';

/** Linear congruential generator (Numerical Recipes constants) as a seeded source of chance. */
function chance(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 0.5) / 4294967296;
  };
}

function shareEquivalent(pairs: number, truth: number, spread: number, margin: number, runs: number): number {
  const next = chance(2024);
  let hits = 0;
  for (let run = 0; run < runs; run++) {
    const differences = Float64Array.from({ length: pairs }, () => truth + spread * normalQuantile(next()));
    if (equivalenceTest(pairedDifference(differences), margin, 0.05).equivalent) hits += 1;
  }
  return hits / runs;
}

describe('pairsForEquivalence', () => {
  it('gives 80 % power when there is no difference', () => {
    const pairs = pairsForEquivalence(2, 1.5, 0.05, 0) as number;
    // 4000 runs: standard error of a share of 0.8 is 0.0063.
    expect(Math.abs(shareEquivalent(pairs, 0, 2, 1.5, 4000) - 0.8)).toBeLessThan(0.03);
  });

  it('quadruples, about, when the margin halves', () => {
    const wide = pairsForEquivalence(1, 0.2, 0.05, 0) as number;
    const narrow = pairsForEquivalence(1, 0.1, 0.05, 0) as number;
    expect(narrow / wide).toBeGreaterThan(3.9);
    expect(narrow / wide).toBeLessThan(4.02);
  });

  it('does not promise an answer beyond a million pairs', () => {
    expect(pairsForEquivalence(1, 1e-6, 0.05, 0)).toBeNull();
  });
});

describe('equivalenceTest', () => {
  it('errs in 5 % of cases when the true difference lies on the margin', () => {
    expect(Math.abs(shareEquivalent(20, 1, 1, 1, 6000) - 0.05)).toBeLessThan(0.01);
    expect(Math.abs(shareEquivalent(20, -1, 1, 1, 6000) - 0.05)).toBeLessThan(0.01);
  });

  it('finds equivalence exactly when both one-sided p are below alpha', () => {
    for (let step = -30; step <= 30; step++) {
      const test = equivalenceTest({ estimate: step / 20, standardError: 0.3, degreesOfFreedom: 11 }, 1, 0.05);
      expect(test.equivalent).toBe(Math.max(test.pLower, test.pUpper) < 0.05);
    }
  });
});

/** Cluster-robust error of an intercept: clubSandwich in R 4.2.2 (fixtures/comparison.json) on MortalityRates. */
import { expect, it } from 'vitest';
import { clusteredDifference } from '../../src/statistics/clustered-difference.ts';
import { comparisonFixture } from './comparison-fixture.ts';
import fixture from './fixtures/cluster-robust.json' with { type: 'json' };

const agreement = 1e-9;

it('is the CR2 error with Satterthwaite degrees of freedom that clubSandwich gives, alone and beside two covariates', () => {
  const { state, legal, beertaxa, mrate } = fixture.MortalityRates;
  const clusters = { codes: Int32Array.from(state, (code) => code - 1), count: Math.max(...state) };
  const response = Float64Array.from(mrate);
  const covariates = [Float64Array.from(legal), Float64Array.from(beertaxa)];
  const { plain, adjusted } = comparisonFixture().intercept;
  const found = [
    clusteredDifference(response, [], [], clusters),
    clusteredDifference(response, covariates, [1, 0.5], clusters),
  ];
  [plain, adjusted].forEach((expected, place) => {
    for (const name of ['estimate', 'standardError', 'degreesOfFreedom'] as const) {
      expect(Math.abs((found[place]?.[name] as number) / expected[name] - 1)).toBeLessThan(agreement);
    }
  });
});

it('is not given for a single cluster', () => {
  const one = { codes: new Int32Array(5), count: 1 };
  expect(clusteredDifference(Float64Array.of(1, 2, 3, 4, 6), [], [], one)).toBeNull();
});

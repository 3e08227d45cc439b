/** Balance of the lalonde data of MatchIt before matching: its summary() in R, fixtures/comparison.json. */
import { expect, it } from 'vitest';
import { standardisedDifference, varianceOf, varianceRatio } from '../../src/statistics/standardised-difference.ts';
import { comparisonFixture } from './comparison-fixture.ts';

it('has the standardised mean differences (over the deviation of the treated) and variance ratios of MatchIt', () => {
  const { treat, columns, difference, varianceRatio: ratios } = comparisonFixture().balance;
  Object.values(columns).forEach((values, place) => {
    const side = (wanted: number): Float64Array => Float64Array.from(values.filter((_, i) => treat[i] === wanted));
    const [treated, others] = [side(1), side(0)];
    const isBinary = values.every((value) => value === 0 || value === 1);
    // MatchIt takes sqrt(p (1 - p)) for shares, which divides by n.
    const shrink = isBinary ? (treated.length - 1) / treated.length : 1;
    const deviation = Math.sqrt(varianceOf(treated) * shrink);
    expect(
      Math.abs((standardisedDifference(treated, others, deviation) as number) - (difference[place] as number)),
    ).toBeLessThan(1e-10);
    const ratio = ratios[place];
    if (typeof ratio !== 'number') return;
    expect(Math.abs((varianceRatio(treated, others) as number) - ratio)).toBeLessThan(1e-10);
  });
  // To the digits of R 4.2.2: age, years of education, married, no degree, earnings of 1974 and 1975.
  const noted = [-0.30945, 0.05497, -0.82631, 0.24497, -0.72108, -0.29026];
  noted.forEach((value, place) => {
    expect(Math.abs((difference[place] as number) - value)).toBeLessThan(1e-5);
  });
  const found = ratios.flatMap((value) => (typeof value === 'number' ? [Number(value.toFixed(4))] : []));
  expect(found).toEqual([0.44, 0.4959, 0.5181, 0.9563]);
});

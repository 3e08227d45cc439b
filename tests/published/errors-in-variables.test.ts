/** Slopes corrected for measurement error. */
import { describe, expect, it } from 'vitest';
import { errorsInVariables } from '../../src/statistics/errors-in-variables.ts';
import { leastSquares } from '../../src/statistics/least-squares.ts';
import { momentsByGroup } from '../../src/statistics/moments.ts';

function printed(found: number, value: number, decimals: number): void {
  expect(Math.abs(found - value)).toBeLessThanOrEqual(0.5000001 * 10 ** -decimals);
}

describe('corn yield on soil nitrogen (Fuller 1987, Measurement Error Models, example 1.2.1, pp. 18-20, from memory)', () => {
  const y = [86, 115, 90, 86, 110, 91, 99, 96, 99, 104, 96];
  const x = [70, 97, 53, 64, 95, 64, 50, 70, 94, 69, 51];
  const moments = momentsByGroup(
    2,
    (block, from, to) => {
      for (let at = from; at < to; at += 1) {
        (block[0] as Float64Array)[at - from] = x[at] as number;
        (block[1] as Float64Array)[at - from] = y[at] as number;
      }
    },
    [{ group: 0, from: 0, to: x.length }],
    1,
  );
  const outcome = leastSquares(moments, 'pooled');
  if (!outcome.ok) throw new Error(outcome.reason);
  const { fit } = outcome;

  it('has the moments 304.8545, 104.8818 and 87.6727, and the naive slope .344', () => {
    const products = moments[0]?.products as Float64Array;
    printed((products[0] as number) / 10, 304.8545, 4);
    printed((products[1] as number) / 10, 104.8818, 4);
    printed((products[3] as number) / 10, 87.6727, 4);
    printed(fit.slopes[0] as number, 0.344, 3);
  });

  it('with error variance 57 the slope is .4232, the intercept 67.56 and the standard error .1745', () => {
    const found = errorsInVariables(fit, moments, [Float64Array.of(57, 0, 0, 0)]);
    if (!found.ok) throw new Error('not corrected');
    const slope = found.fit.slopes[0] as number;
    printed(slope, 0.4232, 4);
    printed((fit.means[1] as number) - slope * (fit.means[0] as number), 67.56, 2);
    printed(Math.sqrt(found.fit.classical[0] as number), 0.1745, 4);
    expect(found.fit.clustered).toBeNull();
    printed(found.fit.reliabilities[0] as number, (304.8545 - 57) / 304.8545, 6);
  });

  it('an error variance as large as the spread is not corrected', () => {
    const found = errorsInVariables(fit, moments, [Float64Array.of(305, 0, 0, 0)]);
    expect(found.ok).toBe(false);
    if (!found.ok) expect(found.worstReliability).toBeLessThan(0);
  });
});

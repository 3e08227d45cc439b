/** Variance between labs by likelihood, against the likelihood written out on a fine grid. */
import { describe, expect, it } from 'vitest';
import { betweenVariance } from '../../src/statistics/between-variance.ts';
import { seededUniform } from '../pooling/invented-shots.ts';

/** -2 log likelihood up to a constant. */
function criterion(estimates: readonly number[], variances: readonly number[], tau2: number, restricted: boolean) {
  const weights = variances.map((variance) => 1 / (variance + tau2));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = weights.reduce((sum, weight, g) => sum + weight * (estimates[g] as number), 0) / total;
  return weights.reduce(
    (sum, weight, g) => sum + weight * ((estimates[g] as number) - mean) ** 2 - Math.log(weight),
    restricted ? Math.log(total) : 0,
  );
}

describe('the variance of the greatest likelihood', () => {
  it.each([
    ['0, where a second hill lies at 2.4', [0.333, 0.0525, -5.06], [0.1635, 0.0203, 4.845], 0],
    // The same with the outlying lab known better: now the far hill is the higher one.
    ['away from 0, where a hill lies there too', [0.333, 0.0525, -5.06], [0.1635, 0.0203, 3.2], 6],
  ])('is %s', (_, estimates, variances, about) => {
    const found = betweenVariance(estimates, variances, 'REML');
    if (about === 0) expect(found).toBe(0);
    else expect(Math.abs(found / about - 1)).toBeLessThan(0.25);
  });

  it('is nowhere beaten by a grid over five decades, for labs of very unequal precision', () => {
    const next = seededUniform(31);
    for (let pool = 0; pool < 300; pool += 1) {
      const labs = 3 + (pool % 6);
      const variances = Array.from({ length: labs }, () => 10 ** (-1.5 + 2.5 * next()));
      const estimates = variances.map((variance) => 3 * Math.sqrt(variance) * next() + (pool % 2) * next());
      for (const [method, restricted] of [
        ['REML', true],
        ['ML', false],
      ] as const) {
        const found = criterion(estimates, variances, betweenVariance(estimates, variances, method), restricted);
        let least = criterion(estimates, variances, 0, restricted);
        for (let tau2 = 1e-4; tau2 < 20; tau2 *= 1.2) {
          least = Math.min(least, criterion(estimates, variances, tau2, restricted));
        }
        expect(least).toBeGreaterThan(found - 1e-9);
      }
    }
  });
});

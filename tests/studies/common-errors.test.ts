import { describe, expect, it } from 'vitest';
import { errorSizes } from './acceleration-error-cells.ts';
import { commonErrorCoverage } from './common-error-pools.ts';

describe('the interval of a pooled slope, when the scale of every rig is wrong by 5 % (see common-error-coverage.md)', () => {
  const pools = 60;
  const cell = (labs: number) => ({ labs, scale: 0.05, slopeDeviation: 0 });
  /** About three Monte Carlo standard errors of a share of 0.95. */
  const least = 0.86;

  it('of one lab holds the truth with the error that the rig states, and not without', () => {
    const found = commonErrorCoverage(cell(1), ['lab-fixed, CR2 by lab (default)'], pools, 41).get(
      'lab-fixed, CR2 by lab (default)',
    );
    expect(found?.stated).toBeGreaterThan(least);
    expect(found?.ignored).toBeLessThan(0.8);
  });

  it('of five labs as well; by labs their spread shows the error by itself', () => {
    const classical = 'lab-fixed, classical';
    const robust = 'lab-fixed, CR2 by lab (default)';
    const found = commonErrorCoverage(cell(5), [classical, robust], pools, 42);
    expect(found.get(classical)?.stated).toBeGreaterThan(least);
    expect(found.get(classical)?.ignored).toBeLessThan(0.8);
    expect(found.get(robust)?.stated).toBeGreaterThan(least);
    expect(found.get(robust)?.ignored).toBeGreaterThan(least);
  });
});

it('the stated uncertainty of an averaged acceleration is that of its value, its interval is wider (see acceleration-errors.md)', () => {
  const { acceleration, speed } = errorSizes({ family: 'swing', captureRate: 4000, noise: 5e-5 }, 150, 8);
  for (const { error, stated, interval } of [acceleration, speed]) {
    expect(stated / error).toBeGreaterThan(0.9);
    expect(stated / error).toBeLessThan(1.4);
    expect(interval).toBeGreaterThan(1.15 * stated);
  }
});

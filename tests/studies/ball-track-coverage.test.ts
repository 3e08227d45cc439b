/** The coverage study of ball tracks with fewer shots: named rows of ball-track-coverage.md, computed again. */
import { describe, expect, it } from 'vitest';
import { ballCoverageOf, ballResultNames } from './ball-coverage-cell.ts';

const shots = 600;

describe('the coverage of the 95 % intervals from a ball track', () => {
  it.each([
    [60, 5e-4],
    [120, 5e-4],
  ])('holds 93 to 97 of 100 of 600 shots where every phase is on film: %i frames/s, noise %f m', (rate, noise) => {
    const { shots: used, results } = ballCoverageOf(rate, noise, true, shots);
    expect(used).toBe(shots);
    for (const name of ballResultNames) {
      expect(results[name].given).toBeGreaterThan(540);
      expect(results[name].share, name).toBeGreaterThanOrEqual(0.93);
      expect(results[name].share, name).toBeLessThanOrEqual(0.97);
    }
  });

  it('falls for the arrival speed below 93 % where a phase is too short, and at least 98 % of those shots are flagged', () => {
    const { results, flagged } = ballCoverageOf(60, 5e-4, false, shots);
    expect(results['arrival speed'].share).toBeLessThan(0.93);
    expect(results['arrival speed'].share).toBeGreaterThan(0.7);
    expect(flagged).toBeGreaterThanOrEqual(0.98);
  });
});

/** The coverage study with fewer tracks: named rows of track-coverage.md, computed again. */
import { describe, expect, it } from 'vitest';
import { assumptionsHold, type CoverageCell, coverageOf } from './coverage-cell.ts';

const tracks = 700;
const cell = (changes: Partial<CoverageCell>): CoverageCell => ({
  family: 'constantJerk',
  captureRate: 1000,
  noise: 5e-5,
  autoregression: 0,
  order: null,
  window: 0.04,
  ...changes,
});

describe('the coverage of the 95 % intervals of speed and acceleration', () => {
  it.each([
    ['white noise, 1000 frames/s', cell({})],
    ['white noise, 8000 frames/s, 20 ms', cell({ captureRate: 8000, window: 0.02 })],
    ['white noise, order fixed at 3', cell({ order: 3 })],
    ['constant acceleration, order fixed at 2', cell({ family: 'constantAcceleration', order: 2 })],
    ['a swing', cell({ family: 'swing', captureRate: 4000 })],
    ['correlated noise 0.3, 8000 frames/s, 20 ms', cell({ captureRate: 8000, window: 0.02, autoregression: 0.3 })],
    ['correlated noise 0.6, order fixed at 3', cell({ captureRate: 8000, autoregression: 0.6, order: 3 })],
  ])('is 93 to 97 %% within sampling error where the assumptions hold: %s', (_, condition) => {
    expect(assumptionsHold(condition)).toBe(true);
    const { speed, acceleration } = coverageOf(condition, tracks, 20_271);
    // Sampling error of a share of 95 % of 700: 0.8 %; two of them beyond the stated bounds.
    for (const share of [speed, acceleration]) {
      expect(share).toBeGreaterThan(0.93 - 0.016);
      expect(share).toBeLessThan(0.97 + 0.016);
    }
  });

  it('falls where an order is fixed that cannot follow the stroke, and nearly every such shot is flagged', () => {
    const condition = cell({ family: 'swing', captureRate: 4000, order: 2 });
    expect(assumptionsHold(condition)).toBe(false);
    const { acceleration, flagged } = coverageOf(condition, tracks, 20_272);
    expect(acceleration).toBeLessThan(0.93);
    // Without the change with window and order in the uncertainty it would be below 20 %.
    expect(acceleration).toBeGreaterThan(0.8);
    expect(flagged).toBeGreaterThan(0.9);
  });

  it('falls with few points and correlated noise, of which more than a third is flagged', () => {
    const condition = cell({ window: 0.02, autoregression: 0.6 });
    expect(assumptionsHold(condition)).toBe(false);
    const { speed, flagged } = coverageOf(condition, tracks, 20_273);
    expect(speed).toBeLessThan(0.93);
    expect(flagged).toBeGreaterThan(0.33);
  });
});

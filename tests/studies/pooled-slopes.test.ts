import { describe, expect, it } from 'vitest';
import { pooledCoverage } from './pooled-slopes.ts';

const pools = 150;
/** About three Monte Carlo standard errors of a share of 0.95. */
const tolerance = 0.055;
const fixed = 'lab-fixed, CR2 with Satterthwaite (default)';
const mean = 'lab slopes, REML with Hartung-Knapp (default, beside)';

describe.each([
  { labs: 3, deviation: 0 },
  { labs: 5, deviation: 0.15 },
  { labs: 12, deviation: 0.15 },
])('the default intervals with $labs labs and slopes that differ by $deviation', ({ labs, deviation }) => {
  const { held } = pooledCoverage(labs, deviation, pools, 4_000 + labs);

  it('hold the true mean slope at about the nominal rate', () => {
    expect(held[fixed]).toBeGreaterThan(0.95 - tolerance);
    expect(held[mean]).toBeGreaterThan(0.95 - tolerance);
    // With few labs of equal slopes the intervals are on the long side, never beyond 1.
    if (deviation > 0) expect(held[mean]).toBeLessThan(0.95 + tolerance);
  });

  it('where those that take slopes as equal, or ignore labs, do not', () => {
    expect(held['labs ignored, classical']).toBeLessThan(0.8);
    if (deviation > 0) {
      expect(held['lab-fixed, classical']).toBeLessThan(0.75);
      expect(held['random lab levels, REML with Kenward-Roger']).toBeLessThan(0.75);
    }
  });
});

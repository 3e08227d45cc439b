import { describe, expect, it } from 'vitest';
import { verdictRates } from './matched-verdicts.ts';

const experiments = 250;
/** Three Monte Carlo standard errors of a share of 0.05 or 0.95. */
const tolerance = 3 * Math.sqrt((0.05 * 0.95) / experiments);
const margin = 0.03;

describe('the equivalence verdict', () => {
  it('errs in 5 % of experiments whose true effect lies on the margin, and its interval holds the truth in 95 %', () => {
    const found = verdictRates({ labs: 1, shotsPerLab: 40, between: 0, effect: margin, margin }, experiments, 41);
    expect(Math.abs(found.within - 0.05)).toBeLessThan(tolerance);
    expect(Math.abs(found.quoted - 0.95)).toBeLessThan(tolerance);
    expect(Math.abs(found.hodgesLehmann - 0.95)).toBeLessThan(tolerance + 0.01);
  });

  it('errs in no more than 5 % where labs differ, while pairs taken as independent hold the truth too seldom', () => {
    const cell = { labs: 5, shotsPerLab: 24, between: 0.03, effect: margin, margin };
    const found = verdictRates(cell, experiments, 42);
    expect(found.within).toBeLessThan(0.05 + tolerance);
    expect(found.quoted).toBeGreaterThan(0.95 - tolerance);
    expect(found.independent).toBeLessThan(0.8);
  });

  it('finds equivalence where there is no effect and the pairs are many', () => {
    const found = verdictRates({ labs: 1, shotsPerLab: 60, between: 0, effect: 0, margin }, 100, 43);
    expect(found.within).toBeGreaterThan(0.95);
  });
});

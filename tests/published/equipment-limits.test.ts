/** Sizes that the governing bodies fix, against the defaults of the disciplines. */
import { describe, expect, it } from 'vitest';
import { gearDefaults } from '../../src/derivation/gear-defaults.ts';

const inch = 0.0254;
const rootThree = Math.sqrt(3);
/** The stated uncertainties are rounded to two digits. */
const roundedTo = 0.05;

function expectRounded(actual: number, exact: number): void {
  expect(Math.abs(actual / exact - 1)).toBeLessThan(roundedTo);
}

describe('ball sizes of the equipment specifications', () => {
  // World Pool-Billiard Association, Tournament Table & Equipment Specifications, item 16: 2 1/4 (+.005) in, read as +-.
  it('pool: 2 1/4 inches within 0.005 inches', () => {
    expect(gearDefaults.pool.ballRadius.value).toBeCloseTo((2.25 * inch) / 2, 9);
    expectRounded(gearDefaults.pool.ballRadius.standardUncertainty, (0.005 * inch) / 2 / rootThree);
  });

  // International Billiards & Snooker Federation rules, section 1, 2 Balls: 52.5 mm within 0.05 mm.
  it('snooker: 52.5 mm within 0.05 mm', () => {
    expect(gearDefaults.snooker.ballRadius.value).toBe(0.02625);
    expectRounded(gearDefaults.snooker.ballRadius.standardUncertainty, 0.05e-3 / 2 / rootThree);
  });

  // Union Mondiale de Billard, 61 to 61.5 mm (from a national body's page, secondary).
  it('carom: 61 to 61.5 mm', () => {
    expect(gearDefaults.carom.ballRadius.value).toBeCloseTo((0.061 + 0.0615) / 4, 9);
    expectRounded(gearDefaults.carom.ballRadius.standardUncertainty, 0.5e-3 / 4 / rootThree);
  });

  // World Eightball Pool Federation: cue ball 47.6 mm, smaller than the object balls of 50.8 mm.
  it('small pool: cue ball of 47.6 mm', () => {
    expect(gearDefaults.small.ballRadius.value).toBe(0.0238);
  });

  // Same WPA text: tip diameter at most 14 mm.
  it('tips: within 14 mm', () => {
    for (const each of Object.values(gearDefaults)) expect(2 * each.tipBaseRadius.value).toBeLessThanOrEqual(0.014);
  });
});

/** Sizes that the governing bodies fix, against the defaults of the disciplines. */
import { describe, expect, it } from 'vitest';
import { quantities } from '../../shared/quantities.ts';
import { impactInputs } from '../../src/derivation/expectation-inputs.ts';
import { gearDefaults } from '../../src/derivation/gear-defaults.ts';
import { settleGear } from '../../src/derivation/settle-gear.ts';
import { exampleGear } from '../derivation/example-shot.ts';

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

const ounce = 0.028349523125;

function ballMassOf(discipline: 'pool' | 'snooker' | 'carom' | 'small') {
  const gear = exampleGear({}, {}, { discipline, ballDiameter: undefined, ballMass: undefined });
  return impactInputs(gear, settleGear(gear));
}

describe('masses and cues of the equipment specifications', () => {
  // Same WPA text, item 16: 5 1/2 to 6 ounces.
  it('pool balls: 5.5 to 6 oz, the middle of it within one standard uncertainty of its rectangle', () => {
    const { ballMass } = ballMassOf('pool');
    expectRounded(ballMass.value, 5.75 * ounce);
    expectRounded(ballMass.standardUncertainty, (0.25 * ounce) / rootThree);
  });

  // Union Mondiale de Billard, 205 to 220 g (from a national body's page, secondary).
  it('carom balls: 205 to 220 g', () => {
    const { ballMass } = ballMassOf('carom');
    expect(ballMass.value).toBeGreaterThanOrEqual(0.205);
    expect(ballMass.value).toBeLessThanOrEqual(0.22);
    // Rounded to the gram.
    expect(ballMass.standardUncertainty).toBeCloseTo(0.0075 / rootThree, 3);
  });

  // World Eightball Pool Federation: cue ball 94 +- 2 g, object balls 116 +- 2 g.
  it('small pool: cue ball 94 g within 2 g, object balls 116 g', () => {
    const { ballMass, massRatio } = ballMassOf('small');
    expect(ballMass.value).toBe(0.094);
    expectRounded(ballMass.standardUncertainty, 0.002 / rootThree);
    expect(massRatio.value).toBe(0.116 / 0.094);
  });

  // Densities that the limits of size and mass allow: phenolic resin.
  it('a ball of middle size and mass has the density that the limits allow', () => {
    for (const [discipline, least, most] of [
      ['pool', 1596, 1739],
      ['carom', 1683, 1851],
    ] as const) {
      const radius = gearDefaults[discipline].ballRadius.value;
      const density = ballMassOf(discipline).ballMass.value / ((4 / 3) * Math.PI * radius ** 3);
      expect(density, discipline).toBeGreaterThan(least);
      expect(density, discipline).toBeLessThan(most);
    }
  });

  // WPA, cue sticks: at least 40 inches long, at most 25 ounces; no more than 14 mm at the tip. World Snooker: at least 3 feet
  // (from memory). What a rule allows is accepted; what every rule forbids is at least remarked as unusual.
  it('cues: at least 40 inches, at most 25 oz, tips at most 14 mm', () => {
    const { cueLength, cueMass, tipDiameter } = quantities;
    expect(cueLength.hard.min).toBeLessThanOrEqual(36 * inch);
    expect(cueLength.usual.min).toBeGreaterThanOrEqual(40 * inch);
    expect(cueMass.hard.max).toBeGreaterThan(25 * ounce);
    expect(cueMass.usual.max).toBeLessThanOrEqual(25 * ounce);
    expect(tipDiameter.hard.max).toBeGreaterThan(0.014);
    expect(tipDiameter.usual.max).toBeLessThanOrEqual(0.014);
  });
});

import { describe, expect, it } from 'vitest';
import { everythingHeld, nothingHeld, totalSpread } from '../../src/pooling/total-spread.ts';
import { studentQuantile } from '../../src/statistics/distributions.ts';

const spread = (standardError: number, classicalError = standardError, degreesOfFreedom = 4) => ({
  standardError,
  classicalError,
  degreesOfFreedom,
});
const common = { rig: 9, cue: 16, table: 0 };

describe('the total of a standard error', () => {
  it('adds in squares what the spread does not measure, with more degrees of freedom', () => {
    const found = totalSpread(spread(12, 12, 40), common, nothingHeld);
    expect(found.standardError).toBe(13);
    expect(found.statisticalError).toBe(12);
    expect(found.commonError).toBe(5);
    // Welch and Satterthwaite: 13^4 / (12^4 / 40).
    expect(found.degreesOfFreedom).toBeCloseTo((40 * 13 ** 4) / 12 ** 4, 10);
  });

  it('is the measured spread where that holds the common errors and is large enough', () => {
    const found = totalSpread(spread(13, 1), common, everythingHeld);
    expect(found).toEqual({ standardError: 13, degreesOfFreedom: 4, statisticalError: 12, commonError: 5 });
  });

  it('never takes a stated error to be absent where the spread shows no more than scatter', () => {
    const found = totalSpread(spread(12), common, everythingHeld);
    expect(found.standardError).toBe(13);
    const lucky = totalSpread(spread(0.1, 12), common, everythingHeld);
    expect(lucky.standardError).toBeGreaterThanOrEqual(5);
    expect(lucky.degreesOfFreedom).toBeGreaterThan(1000);
    expect(totalSpread(spread(0, 0), common, everythingHeld).standardError).toBe(5);
  });

  it('counts apart what a cluster holds and what it does not', () => {
    const found = totalSpread(spread(13, 1), common, { ...nothingHeld, rig: true });
    expect(found.standardError).toBeCloseTo(Math.sqrt(169 + 16), 12);
    expect(found.commonError).toBe(5);
  });

  it('never makes an interval narrower, however few degrees of freedom there are', () => {
    for (const degrees of [1, 2, 3, 10]) {
      for (const own of [0.1, 1, 3, 5, 10, 30]) {
        for (const held of [nothingHeld, everythingHeld]) {
          const found = totalSpread(spread(own, 8, degrees), common, held);
          const [reach, before] = [
            studentQuantile(0.975, found.degreesOfFreedom) * found.standardError,
            studentQuantile(0.975, degrees) * own,
          ];
          expect(reach).toBeGreaterThan(before * (1 - 1e-5));
        }
      }
    }
  });

  it('without common errors is the spread, to the bit', () => {
    const nothing = { rig: 0, cue: 0, table: 0 };
    for (const held of [nothingHeld, everythingHeld]) {
      expect(totalSpread(spread(0.1, 0.3, 2.7), nothing, held)).toEqual({
        standardError: 0.1,
        degreesOfFreedom: 2.7,
        statisticalError: 0.1,
        commonError: 0,
      });
    }
  });

  it('its parts add up in squares to it', () => {
    for (const [own, classical] of [
      [3, 2],
      [2, 3],
      [8, 1],
    ] as const) {
      for (const held of [nothingHeld, everythingHeld, { ...nothingHeld, cue: true }]) {
        const { standardError, statisticalError, commonError } = totalSpread(spread(own, classical), common, held);
        expect(Math.hypot(statisticalError, commonError)).toBeCloseTo(standardError, 12);
      }
    }
  });
});

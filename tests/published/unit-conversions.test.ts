/**
 * Conversion factors of NIST Special Publication 811 (2008), Appendix B.8/B.9, "Factors for units". Factors printed in
 * bold there are exact. [from memory]
 */
import { describe, expect, it } from 'vitest';
import type { QuantityName } from '../../shared/quantities.ts';
import { lookUpUnit, toSi } from '../../shared/units.ts';

/** Distance in units in the last place of the larger magnitude. */
function ulps(actual: number, expected: number): number {
  let step = 1;
  while (expected + step / 2 !== expected) step /= 2;
  while (expected + step === expected) step *= 2;
  return Math.abs(actual - expected) / step;
}

function factor(text: string, quantity: QuantityName): number {
  const found = lookUpUnit(text, quantity);
  if (!found.ok) throw new Error(`${text}: ${found.expected}`);
  return toSi(1, found.code, quantity);
}

const exactFactors: [text: string, quantity: QuantityName, factor: number][] = [
  ['inch', 'cuePosition', 2.54e-2],
  ['in', 'cuePosition', 2.54e-2],
  ['[in_i]', 'cuePosition', 2.54e-2],
  ['foot', 'cuePosition', 3.048e-1],
  ['ft', 'cuePosition', 3.048e-1],
  ['yard', 'cuePosition', 9.144e-1],
  ['[mi_i]', 'cuePosition', 1.609344e3],
  ['thou', 'cuePosition', 2.54e-5],
  ['micron', 'cuePosition', 1e-6],
  ['mph', 'cueSpeed', 4.4704e-1],
  ['fps', 'cueSpeed', 3.048e-1],
  ['ft/s', 'cueSpeed', 3.048e-1],
  ['in/s', 'cueSpeed', 2.54e-2],
  ['ft/s2', 'cueAcceleration', 3.048e-1],
  ['in/s2', 'cueAcceleration', 2.54e-2],
  ['[g]', 'cueAcceleration', 9.80665],
  ['Gal', 'cueAcceleration', 1e-2],
  ['lb', 'cueMass', 4.5359237e-1],
  ['[gr]', 'cueMass', 6.479891e-5],
  ['h', 'trackTime', 3600],
  ['min', 'trackTime', 60],
];

/** Printed to seven digits. */
const roundedFactors: [text: string, quantity: QuantityName, factor: number][] = [
  ['km/h', 'cueSpeed', 2.777778e-1],
  ['[kn_i]', 'cueSpeed', 5.144444e-1],
  ['oz', 'cueMass', 2.834952e-2],
  ['deg', 'elevation', 1.745329e-2],
  ["'", 'elevation', 2.908882e-4],
  ["''", 'elevation', 4.848137e-6],
  ['gon', 'elevation', 1.570796e-2],
  ['circ', 'elevation', 6.283185],
  ['[ft_us]', 'cuePosition', 3.048006e-1],
];

describe('conversion factors of NIST SP 811 Appendix B', () => {
  it.each(exactFactors)('converts %s (%s) by the exact factor within 2 ulp', (text, quantity, expected) => {
    expect(ulps(factor(text, quantity), expected)).toBeLessThanOrEqual(2);
  });

  it.each(roundedFactors)('converts %s (%s) to every printed digit', (text, quantity, expected) => {
    expect(Number(factor(text, quantity).toPrecision(7))).toBe(expected);
  });

  it('converts the ounce and the degree within 2 ulp of their definitions', () => {
    expect(ulps(factor('oz', 'cueMass'), 0.45359237 / 16)).toBeLessThanOrEqual(2);
    expect(ulps(factor('deg', 'elevation'), Math.PI / 180)).toBeLessThanOrEqual(2);
  });
});

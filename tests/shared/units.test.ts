import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { editDistance } from '../../shared/edit-distance.ts';
import { type QuantityName, quantities } from '../../shared/quantities.ts';
import { aliasedCode, aliasesOf } from '../../shared/unit-aliases.ts';
import { tableCodes } from '../../shared/unit-table.ts';
import { readUcum } from '../../shared/unit-ucum.ts';
import { lookUpUnit, siFactors, toSi, unitNeeds } from '../../shared/units.ts';

function code(text: string, quantity: QuantityName): string {
  const found = lookUpUnit(text, quantity);
  return found.ok ? found.code : found.code;
}

const quantityNames = Object.keys(quantities) as QuantityName[];

describe('looking up a unit', () => {
  it('reads fps as feet per second for a speed and as frames per second for a rate', () => {
    expect(code('fps', 'cueSpeed')).toBe('[ft_i]/s');
    expect(code('fps', 'captureRate')).toBe('1/s');
    expect(code('fps', 'cuePosition')).toBe('unit-dimension');
  });

  it('reads mph as miles per hour, not as the milliphot of UCUM', () => {
    expect(code('mph', 'cueSpeed')).toBe('[mi_i]/h');
    expect(toSi(10, '[mi_i]/h', 'cueSpeed')).toBe(4.4704);
  });

  it.each([
    ['in', 'cuePosition', '[in_i]'],
    ['"', 'cuePosition', '[in_i]'],
    [' mm ', 'cuePosition', 'mm'],
    ['ft', 'cuePosition', '[ft_i]'],
    ['INCH', 'cuePosition', '[in_i]'],
    ['pixels', 'cuePosition', 'px'],
    ['balls', 'outcomeDistance', 'ball'],
    ['diamonds', 'objectBallDistance', 'diamond'],
    ['R', 'tipOffset', 'R'],
    ['kph', 'cueSpeed', 'km/h'],
    ['m/s^2', 'cueAcceleration', 'm/s2'],
    ['m/s\u00b2', 'cueAcceleration', 'm/s2'],
    ['\u00b5s', 'exposure', 'us'],
    ['\u03bcs', 'exposure', 'us'],
    ['\u00b0', 'elevation', 'deg'],
    ['oz', 'cueMass', '[oz_av]'],
    ['frames/s', 'captureRate', '1/s'],
    ['Hz', 'captureRate', 'Hz'],
    ['in/px', 'scale', '[in_i]/px'],
    ['frames', 'contactTime', 'frame'],
    ['nm', 'cuePosition', 'nm'],
  ] as const)('reads %s for %s as %s', (text, quantity, expected) => {
    expect(code(text, quantity)).toBe(expected);
  });

  it('refuses a unit of another dimension and says what it measures', () => {
    const found = lookUpUnit('kg', 'cuePosition');
    expect(found).toMatchObject({ ok: false, code: 'unit-dimension' });
    expect(!found.ok && found.remedy).toContain('a mass');
    expect(code('g', 'cueAcceleration')).toBe('unit-dimension');
    expect(code('m/px', 'cuePosition')).toBe('unit-dimension');
  });

  it('offers the nearest unit for a misspelt one', () => {
    const near = (text: string, quantity: QuantityName) => {
      const found = lookUpUnit(text, quantity);
      return found.ok ? '' : found.remedy;
    };
    expect(near('MM', 'cuePosition')).toContain('mm');
    expect(near('inchs', 'cuePosition')).toMatch(/inch(es)?\./);
    expect(near('m/ss', 'cueSpeed')).toContain('m/s');
    expect(near('frmes/s', 'captureRate')).toContain('frames/s');
  });

  it('refuses proportional-looking units that are none, annotations and empty text', () => {
    expect(code('Cel', 'tipOffset')).toBe('unit-unknown');
    expect(code('{ball}', 'tipOffset')).toBe('unit-unknown');
    expect(code('m/{px}', 'scale')).toBe('unit-unknown');
    expect(code('', 'cuePosition')).toBe('unit-dimension');
    expect(code('valueOf', 'cueSpeed')).toBe('unit-unknown');
    expect(code('m.constructor', 'cueSpeed')).toBe('unit-unknown');
    expect(code('10*400.m', 'cuePosition')).toBe('unit-unknown');
  });

  it('answers any text for any quantity without failing, and gives only codes that convert', () => {
    fc.assert(
      fc.property(fc.string({ maxLength: 12 }), fc.constantFrom(...quantityNames), (text, quantity) => {
        const found = lookUpUnit(text, quantity);
        if (!found.ok) return found.remedy.length > 0 && found.expected.length > 0;
        const context = { ballRadius: 0.03, metresPerPixel: 1e-3, captureRate: 1000, tableLength: 2 };
        return Number.isFinite(toSi(1, found.code, quantity, context));
      }),
      { seed: 811, numRuns: 2000 },
    );
  });

  it('maps every alias to a code of its own dimension', () => {
    for (const quantity of quantityNames) {
      for (const alias of aliasesOf(quantities[quantity].dimension)) {
        const found = lookUpUnit(alias, quantity);
        expect(found, `${alias} for ${quantity}`).toMatchObject({ ok: true });
        expect(found.ok && tableCodes(quantities[quantity].dimension)).toContain(found.ok && found.code);
      }
    }
    expect(aliasedCode('mph', 'cueSpeed' as never)).toBeUndefined();
  });

  it('agrees with UCUM wherever both know a code (relative 1e-14)', () => {
    let compared = 0;
    for (const quantity of quantityNames) {
      const { dimension } = quantities[quantity];
      for (const known of tableCodes(dimension)) {
        const ucum = readUcum(known);
        // R is roentgen in UCUM, and '1' counts as well as being a number.
        if (ucum === null || ucum.dimension !== dimension || unitNeeds(known, quantity) !== null) continue;
        expect(Math.abs(toSi(1, known, quantity) / ucum.factor - 1), known).toBeLessThan(1e-14);
        compared += 1;
      }
    }
    expect(compared).toBeGreaterThan(100);
  });
});

describe('conversion to SI', () => {
  it('uses the context that a unit of our own needs', () => {
    expect(unitNeeds('px')).toBe('metresPerPixel');
    expect(unitNeeds('R')).toBe('ballRadius');
    expect(unitNeeds('R', 'tipOffset')).toBeNull();
    expect(unitNeeds('frame', 'contactTime')).toBe('captureRate');
    expect(unitNeeds('diamond')).toBe('tableLength');
    expect(unitNeeds('mm')).toBeNull();
    expect(toSi(3, 'px', 'cuePosition', { metresPerPixel: 0.0005 })).toBe(0.0015);
    expect(toSi(-0.5, 'R', 'heightReading', { ballRadius: 0.028575 })).toBe(-0.0142875);
    expect(toSi(2, 'ball', 'outcomeDistance', { ballRadius: 0.028575 })).toBe(0.1143);
    expect(toSi(2, 'diamond', 'objectBallDistance', { tableLength: 2.54 })).toBe(0.635);
    expect(toSi(9, 'frame', 'contactTime', { captureRate: 8000 })).toBe(0.001125);
    expect(toSi(-0.4, 'R', 'tipOffset')).toBe(-0.4);
  });

  it('turns pixels per length round', () => {
    expect(toSi(2, 'px/mm', 'scale')).toBe(0.0005);
    expect(toSi(254, 'px/[in_i]', 'scale')).toBe(0.0001);
    expect(() => siFactors('px/mm', 'scale')).toThrow(RangeError);
  });

  it('refuses to convert without the context or with a unit of another dimension', () => {
    expect(() => toSi(1, 'px', 'cuePosition')).toThrow(RangeError);
    expect(() => toSi(1, 'kg', 'cuePosition')).toThrow(RangeError);
    expect(() => toSi(1, 'nonsense', 'cuePosition')).toThrow(RangeError);
  });
});

describe('edit distance', () => {
  it('counts insertions, deletions and substitutions as 2 and a change of case as 1', () => {
    expect(editDistance('', '')).toBe(0);
    expect(editDistance('mm', 'mm')).toBe(0);
    expect(editDistance('MM', 'mm')).toBe(2);
    expect(editDistance('m/ss', 'm/s')).toBe(2);
    expect(editDistance('kitten', 'sitting')).toBe(6);
  });
});

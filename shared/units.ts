/**
 * Units as people send them: aliases first, then our exact table, then UCUM. Values are kept as sent; `toSi` turns
 * them into SI the same way on every machine.
 */
import { editDistance } from './edit-distance.ts';
import { type Dimension, type QuantityName, quantities } from './quantities.ts';
import { aliasedCode, aliasesOf, dimensionsOfAlias } from './unit-aliases.ts';
import {
  type ContextName,
  dimensionsOfCode,
  tableCodes,
  tableConversion,
  type UnitContext,
  type UnitConversion,
} from './unit-table.ts';
import { readUcum } from './unit-ucum.ts';

export type { ContextName, UnitContext } from './unit-table.ts';

export type UnitLookUp =
  | { readonly ok: true; readonly code: string }
  | {
      readonly ok: false;
      readonly code: 'unit-unknown' | 'unit-dimension';
      readonly expected: string;
      readonly remedy: string;
    };

const dimensionWords: Readonly<Record<Dimension, string>> = {
  length: 'a length',
  time: 'a time',
  speed: 'a speed',
  acceleration: 'an acceleration',
  mass: 'a mass',
  angle: 'an angle',
  rate: 'a rate',
  one: 'a pure number',
  scale: 'a scale (length per pixel)',
  count: 'a count',
};

/** A sender with endless wrong units must not fill the memory. */
const cacheLimit = 2000;
const lookUpCache = new Map<Dimension, Map<string, UnitLookUp>>();
const conversionCache = new Map<Dimension, Map<string, UnitConversion>>();

function cached<Value>(
  cache: Map<Dimension, Map<string, Value>>,
  dimension: Dimension,
  text: string,
  compute: () => Value,
): Value {
  let known = cache.get(dimension);
  if (known === undefined) {
    known = new Map();
    cache.set(dimension, known);
  }
  let value = known.get(text);
  if (value === undefined) {
    if (known.size >= cacheLimit) known.clear();
    value = compute();
    known.set(text, value);
  }
  return value;
}

/**
 * Finds the unit that a text means for a quantity.
 *
 * @param text unit as typed; spaces around it are ignored
 * @returns the canonical code (UCUM, or px, frame, R, ball, diamond and scales per px), or why it is refused, with the
 *   nearest valid unit. `fps` is feet per second for a speed and frames per second for a rate.
 */
export function lookUpUnit(text: string, quantity: QuantityName): UnitLookUp {
  const { dimension } = quantities[quantity];
  return cached(lookUpCache, dimension, text, () => findUnit(text.trim(), dimension));
}

function findUnit(text: string, dimension: Dimension): UnitLookUp {
  const known = aliasedCode(text, dimension) ?? (tableConversion(text, dimension) && text);
  if (known !== undefined) return { ok: true, code: known };
  const ucum = readUcum(text);
  // Pixels have no place in UCUM, so a scale or a count is only ever one of ours.
  if (ucum !== null && ucum.dimension === dimension && dimension !== 'count') return { ok: true, code: text };
  // Words in capitals (MPH, Inch); codes stay case-sensitive, since UCUM tells mm from Mm.
  const word = aliasedCode(text.toLowerCase(), dimension);
  if (word !== undefined) return { ok: true, code: word };
  return refusal(text, dimension, ucum !== null);
}

function refusal(text: string, dimension: Dimension, isUcum: boolean): UnitLookUp {
  const wanted = dimensionWords[dimension];
  const expected = `a unit of ${wanted}, such as ${tableCodes(dimension).slice(0, 6).join(', ')}`;
  const meant = [...dimensionsOfAlias(text), ...dimensionsOfCode(text)][0];
  if (meant === undefined && !isUcum) {
    const nearest = nearestUnit(text, dimension);
    return { ok: false, code: 'unit-unknown', expected, remedy: `The nearest unit of ${wanted} is ${nearest}.` };
  }
  const measures = meant === undefined ? 'something else' : dimensionWords[meant];
  // Spelling says nothing about what was meant here (kg is near km): the SI unit is the valid one to name.
  const remedy = `'${text}' measures ${measures}; use a unit of ${wanted}, for example ${tableCodes(dimension)[0]}.`;
  return { ok: false, code: 'unit-dimension', expected, remedy };
}

function nearestUnit(text: string, dimension: Dimension): string {
  let nearest = tableCodes(dimension)[0] ?? '1';
  let least = Number.POSITIVE_INFINITY;
  for (const candidate of [...tableCodes(dimension), ...aliasesOf(dimension)]) {
    const distance = editDistance(text, candidate);
    if (candidate !== '' && distance < least) {
      least = distance;
      nearest = candidate;
    }
  }
  return nearest;
}

/**
 * What a unit needs beside the number.
 *
 * @param code canonical code from `lookUpUnit`
 * @param quantity R needs no ball radius when the quantity is a pure number (a tip offset)
 */
export function unitNeeds(code: string, quantity: QuantityName = 'cuePosition'): ContextName | null {
  return conversionOf(code, quantity).needs;
}

function conversionOf(code: string, quantity: QuantityName): UnitConversion {
  const { dimension } = quantities[quantity];
  const inTable = tableConversion(code, dimension);
  if (inTable !== undefined) return inTable;
  return cached(conversionCache, dimension, code, () => {
    const ucum = readUcum(code);
    if (ucum === null || ucum.dimension !== dimension) throw new RangeError(`${code} is not a unit of ${dimension}`);
    return { numerator: ucum.factor, denominator: 1, needs: null, inverse: false };
  });
}

/** Multiplier and divisor of a conversion to SI: SI value = value * multiplier / divisor. */
export interface SiFactors {
  readonly multiplier: number;
  readonly divisor: number;
}

/**
 * The conversion of a unit to SI, for converting many values.
 *
 * @throws RangeError when the code is not a unit of the quantity, the context it needs is missing, or the unit is
 *   pixels per length (which is no multiple of length per pixel)
 */
export function siFactors(code: string, quantity: QuantityName, context: UnitContext = {}): SiFactors {
  const { numerator, denominator, needs, inverse } = conversionOf(code, quantity);
  if (inverse) throw new RangeError(`${code} is not proportional to ${quantities[quantity].siUnit}`);
  if (needs === null) return { multiplier: numerator, divisor: denominator };
  const known = context[needs];
  if (known === undefined) throw new RangeError(`${code} needs ${needs}`);
  if (needs === 'captureRate') return { multiplier: numerator, divisor: denominator * known };
  return { multiplier: numerator * known, divisor: denominator };
}

/**
 * Value in SI.
 *
 * @param code canonical code from `lookUpUnit`
 * @param context what units of our own need; see `unitNeeds`
 * @throws RangeError when the code is not a unit of the quantity or the context it needs is missing
 */
export function toSi(value: number, code: string, quantity: QuantityName, context: UnitContext = {}): number {
  const conversion = conversionOf(code, quantity);
  if (conversion.inverse) return conversion.numerator / (value * conversion.denominator);
  const { multiplier, divisor } = siFactors(code, quantity, context);
  return (value * multiplier) / divisor;
}

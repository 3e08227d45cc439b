/**
 * Units converted by exact integers: SI value = value * numerator / denominator. Everything that labs commonly send is
 * here, so that the same number comes out on every machine; the long tail goes through UCUM (unit-ucum.ts).
 *
 * The factors are exact by definition (international yard and pound agreement of 1959: inch 25.4 mm, pound
 * 0.45359237 kg); the angle factors are the doubles nearest to pi/180 and its parts.
 */
import type { Dimension } from './quantities.ts';

/** What a unit of our own needs to become SI. */
export interface UnitContext {
  /** Radius of the cue ball, m. */
  readonly ballRadius?: number | undefined;
  /** Scale of the rig, m/px. */
  readonly metresPerPixel?: number | undefined;
  /** Capture rate of the rig, 1/s. */
  readonly captureRate?: number | undefined;
  /** Length of the playing surface, m. */
  readonly tableLength?: number | undefined;
}
export type ContextName = keyof UnitContext;

export interface UnitConversion {
  readonly numerator: number;
  readonly denominator: number;
  /** The SI value is also multiplied (frame: divided) by this part of the context. */
  readonly needs: ContextName | null;
  /** True for pixels per length: SI value = numerator / (value * denominator). */
  readonly inverse: boolean;
}

function exact(numerator: number, denominator = 1): UnitConversion {
  return { numerator, denominator, needs: null, inverse: false };
}

function own(needs: ContextName, numerator = 1, denominator = 1): UnitConversion {
  return { numerator, denominator, needs, inverse: false };
}

function inverse(numerator: number, denominator = 1): UnitConversion {
  return { numerator, denominator, needs: null, inverse: true };
}

type Table = readonly (readonly [code: string, conversion: UnitConversion])[];

/** By dimension; the first code is the SI unit, and the order is the order in which examples are offered. */
const tables: Readonly<Record<Dimension, Table>> = {
  length: [
    ['m', exact(1)],
    ['mm', exact(1, 1000)],
    ['cm', exact(1, 100)],
    ['[in_i]', exact(127, 5000)],
    ['[ft_i]', exact(381, 1250)],
    ['px', own('metresPerPixel')],
    ['R', own('ballRadius')],
    ['ball', own('ballRadius', 2)],
    ['diamond', own('tableLength', 1, 8)],
    ['um', exact(1, 1_000_000)],
    ['dm', exact(1, 10)],
    ['km', exact(1000)],
    ['[yd_i]', exact(1143, 1250)],
    ['[mil_i]', exact(127, 5_000_000)],
    ['[mi_i]', exact(201_168, 125)],
  ],
  time: [
    ['s', exact(1)],
    ['ms', exact(1, 1000)],
    ['us', exact(1, 1_000_000)],
    ['frame', own('captureRate')],
    ['ns', exact(1, 1_000_000_000)],
    ['min', exact(60)],
    ['h', exact(3600)],
  ],
  speed: [
    ['m/s', exact(1)],
    ['mm/s', exact(1, 1000)],
    ['cm/s', exact(1, 100)],
    ['km/h', exact(5, 18)],
    ['[ft_i]/s', exact(381, 1250)],
    ['[in_i]/s', exact(127, 5000)],
    ['[mi_i]/h', exact(1397, 3125)],
    ['mm/ms', exact(1)],
    ['um/us', exact(1)],
    ['m/min', exact(1, 60)],
    ['[kn_i]', exact(463, 900)],
  ],
  acceleration: [
    ['m/s2', exact(1)],
    ['mm/s2', exact(1, 1000)],
    ['cm/s2', exact(1, 100)],
    ['[ft_i]/s2', exact(381, 1250)],
    ['[in_i]/s2', exact(127, 5000)],
    ['[g]', exact(196_133, 20_000)],
    ['Gal', exact(1, 100)],
  ],
  mass: [
    ['kg', exact(1)],
    ['g', exact(1, 1000)],
    ['[oz_av]', exact(45_359_237, 1_600_000_000)],
    ['[lb_av]', exact(45_359_237, 100_000_000)],
    ['mg', exact(1, 1_000_000)],
    ['[gr]', exact(6_479_891, 100_000_000_000)],
  ],
  angle: [
    ['rad', exact(1)],
    ['deg', exact(0.017453292519943295)],
    ['mrad', exact(1, 1000)],
    ["'", exact(0.0002908882086657216)],
    ["''", exact(0.00000484813681109536)],
  ],
  rate: [
    ['1/s', exact(1)],
    ['Hz', exact(1)],
    ['kHz', exact(1000)],
    ['MHz', exact(1_000_000)],
    ['1/ms', exact(1000)],
    ['1/min', exact(1, 60)],
  ],
  one: [
    ['1', exact(1)],
    ['%', exact(1, 100)],
    // A tip offset b/R is a pure number; labs say '0.3 R'.
    ['R', exact(1)],
  ],
  scale: [
    ['m/px', exact(1)],
    ['mm/px', exact(1, 1000)],
    ['um/px', exact(1, 1_000_000)],
    ['cm/px', exact(1, 100)],
    ['[in_i]/px', exact(127, 5000)],
    ['px/mm', inverse(1, 1000)],
    ['px/cm', inverse(1, 100)],
    ['px/m', inverse(1)],
    ['px/[in_i]', inverse(127, 5000)],
  ],
  count: [
    ['1', exact(1)],
    ['frame', exact(1)],
  ],
};

const lookup = new Map<Dimension, ReadonlyMap<string, UnitConversion>>();
for (const [dimension, table] of Object.entries(tables)) lookup.set(dimension as Dimension, new Map(table));

/** Conversion of a code within a dimension, or undefined when the table does not hold it. */
export function tableConversion(code: string, dimension: Dimension): UnitConversion | undefined {
  return lookup.get(dimension)?.get(code);
}

/** Codes of a dimension in the order in which they are offered. */
export function tableCodes(dimension: Dimension): readonly string[] {
  return tables[dimension].map(([code]) => code);
}

/** Dimensions whose table holds the code. */
export function dimensionsOfCode(code: string): Dimension[] {
  return (Object.keys(tables) as Dimension[]).filter((dimension) => lookup.get(dimension)?.has(code));
}

/**
 * The long tail of units through UCUM. The library is CommonJS without types and takes tens of milliseconds to load,
 * so it is loaded when the first unit outside our own tables is met.
 */
import { createRequire } from 'node:module';
import type { Dimension } from './quantities.ts';

/** The library looks units up in plain objects, where these names are always found. */
const inheritedNames = new RegExp(Object.getOwnPropertyNames(Object.prototype).join('|'));

/** Exponents of length, time, mass, angle, temperature, charge, luminous intensity in the library's order. */
const exponents: Readonly<Partial<Record<Dimension, readonly number[]>>> = {
  length: [1, 0, 0, 0, 0, 0, 0],
  time: [0, 1, 0, 0, 0, 0, 0],
  speed: [1, -1, 0, 0, 0, 0, 0],
  acceleration: [1, -2, 0, 0, 0, 0, 0],
  mass: [0, 0, 1, 0, 0, 0, 0],
  angle: [0, 0, 0, 1, 0, 0, 0],
  rate: [0, -1, 0, 0, 0, 0, 0],
  one: [0, 0, 0, 0, 0, 0, 0],
};

interface LibraryUnit {
  readonly magnitude_: number;
  readonly dim_: { readonly dimVec_: readonly number[] | null } | null;
  readonly isSpecial_: boolean;
  readonly isArbitrary_: boolean;
}
interface Library {
  getSpecifiedUnit(text: string, mode: 'validate'): { unit: LibraryUnit | null; retMsg: readonly string[] };
}

let library: Library | undefined;

function loadLibrary(): Library {
  if (library === undefined) {
    const require = createRequire(import.meta.url);
    const { UcumLhcUtils } = require('@lhncbc/ucum-lhc') as { UcumLhcUtils: { getInstance(): Library } };
    library = UcumLhcUtils.getInstance();
  }
  return library;
}

export interface UcumUnit {
  /** SI value of one unit. */
  readonly factor: number;
  /** Dimension among those we use, or null when it is another one. */
  readonly dimension: Dimension | null;
}

/**
 * Reads a UCUM code.
 *
 * @returns its factor to SI and its dimension, or null when it is not a UCUM code of a plain (proportional) unit.
 *   Annotations in braces are not accepted: they would make '{ball}' a pure number.
 */
export function readUcum(text: string): UcumUnit | null {
  if (text === '' || /[^\x21-\x7e]|[{}]|\(\)/.test(text) || inheritedNames.test(text)) return null;
  let answer: ReturnType<Library['getSpecifiedUnit']>;
  try {
    answer = loadLibrary().getSpecifiedUnit(text, 'validate');
  } catch {
    return null;
  }
  const { unit, retMsg } = answer;
  // A message with a unit means that the library guessed what was meant.
  if (unit === null || retMsg.length > 0 || unit.isSpecial_ || unit.isArbitrary_) return null;
  const vector = unit.dim_?.dimVec_ ?? exponents.one;
  const dimension = (Object.keys(exponents) as Dimension[]).find((name) =>
    exponents[name]?.every((exponent, index) => exponent === vector?.[index]),
  );
  // The library multiplies doubles (0.0254 becomes 0.025400000000000002) and uses the engine's powers, whose last
  // digit differs between versions: 15 significant digits are the same everywhere and mend decimal factors. Its unit
  // of mass is the gram.
  const magnitude = Number((dimension === 'mass' ? unit.magnitude_ / 1000 : unit.magnitude_).toPrecision(15));
  if (!Number.isFinite(magnitude) || magnitude <= 0) return null;
  return { factor: magnitude, dimension: dimension ?? null };
}

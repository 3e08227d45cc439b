/**
 * Columns for polynomial and product terms that keep their digits.
 *
 * A term is a product of powers, x1^a1 * x2^a2 ... . Where every divisor of a term is a term too (x and x^2 with x^3;
 * x and z with x*z), its column is the product of Chebyshev polynomials T_a1(u1) T_a2(u2) ... with u = (x - c) / h on
 * [-1, 1]: the same model, far better conditioned than raw powers. The remaining terms keep their raw powers over a
 * scale, minus a constant. Without an intercept no column may hold a constant: all terms then keep their raw powers over a
 * scale. raw-coefficients.ts maps back.
 */
import { chunkSize, type FillBlock } from './moments.ts';

export interface Factor {
  /** Index of a variable. */
  readonly variable: number;
  /** 1 or more. */
  readonly power: number;
}
/** Factors of different variables, ascending. */
export type Term = readonly Factor[];

export interface Range {
  readonly min: number;
  readonly max: number;
}

export interface TermBasis {
  readonly terms: readonly Term[];
  /** For each term: whether its column is a product of Chebyshev polynomials. */
  readonly chebyshev: readonly boolean[];
  /** Middle c and half width h of each variable's range. */
  readonly centres: Float64Array;
  readonly halfWidths: Float64Array;
  /** Raw terms only: column = (product of powers - offset) / scale. */
  readonly offsets: Float64Array;
  readonly scales: Float64Array;
}

/**
 * @param terms distinct terms without the constant
 * @param ranges observed or declared range of each variable; max > min, else the half width is taken as 1
 * @param intercept whether the model has one, of all rows or of each group
 */
export function termBasis(terms: readonly Term[], ranges: readonly Range[], intercept = true): TermBasis {
  const keys = new Set(terms.map(termKey));
  const isClosed = (term: Term): boolean => properDivisors(term).every((divisor) => keys.has(termKey(divisor)));
  const centres = Float64Array.from(ranges, ({ min, max }) => min + (max - min) / 2);
  const halfWidths = Float64Array.from(ranges, ({ min, max }) => (max > min ? (max - min) / 2 : 1));
  const largest = ranges.map(({ min, max }) => Math.max(Math.abs(min), Math.abs(max)) || 1);
  return {
    terms,
    chebyshev: terms.map((term) => intercept && isClosed(term)),
    centres,
    halfWidths,
    offsets: Float64Array.from(terms, (term) =>
      intercept ? monomial(term, (variable) => centres[variable] as number) : 0,
    ),
    scales: Float64Array.from(terms, (term) => monomial(term, (variable) => largest[variable] as number)),
  };
}

/**
 * Fills the columns of the terms, then the response minus `responseOffset`.
 * @param variables one column of values per variable, NaN nowhere among the chosen rows
 * @param indices rows that take part
 */
export function termColumns(
  basis: TermBasis,
  variables: readonly Float64Array[],
  response: Float64Array,
  responseOffset: number,
  indices: Int32Array,
): FillBlock {
  const mapped = new Float64Array(chunkSize);
  return (block, from, to) => {
    const count = to - from;
    basis.terms.forEach((term, place) => {
      const column = block[place] as Float64Array;
      const chebyshev = basis.chebyshev[place] as boolean;
      term.forEach(({ variable, power }, factor) => {
        const values = variables[variable] as Float64Array;
        const centre = chebyshev ? (basis.centres[variable] as number) : 0;
        const halfWidth = chebyshev ? (basis.halfWidths[variable] as number) : 1;
        // The first factor is the column, further ones multiply it.
        const target = factor === 0 ? column : mapped;
        gather(target, values, indices, from, count, centre, halfWidth);
        if (power > 1) raise(target, power, count, chebyshev);
        if (factor > 0)
          for (let row = 0; row < count; row += 1) column[row] = (column[row] as number) * (mapped[row] as number);
      });
      if (!chebyshev) {
        const offset = basis.offsets[place] as number;
        const scale = basis.scales[place] as number;
        for (let row = 0; row < count; row += 1) column[row] = ((column[row] as number) - offset) / scale;
      }
    });
    gather(block[basis.terms.length] as Float64Array, response, indices, from, count, responseOffset, 1);
  };
}

/** (value - centre) / halfWidth of the chosen rows. */
function gather(
  target: Float64Array,
  values: Float64Array,
  indices: Int32Array,
  from: number,
  count: number,
  centre: number,
  halfWidth: number,
): void {
  if (halfWidth === 1) {
    for (let row = 0; row < count; row += 1) target[row] = (values[indices[from + row] as number] as number) - centre;
    return;
  }
  for (let row = 0; row < count; row += 1) {
    target[row] = ((values[indices[from + row] as number] as number) - centre) / halfWidth;
  }
}

/** Each value's Chebyshev polynomial of a degree above 1, or its plain power, in its place. */
function raise(column: Float64Array, degree: number, count: number, chebyshev: boolean): void {
  for (let row = 0; row < count; row += 1) {
    const value = column[row] as number;
    let previous = 1;
    let current = value;
    for (let k = 1; k < degree; k += 1) {
      const next = chebyshev ? 2 * value * current - previous : value * current;
      previous = current;
      current = next;
    }
    column[row] = current;
  }
}

function monomial(term: Term, value: (variable: number) => number): number {
  let product = 1;
  for (const { variable, power } of term) for (let k = 0; k < power; k += 1) product *= value(variable);
  return product;
}

/** Text that two terms share only when they are equal; '' is the constant. */
export function termKey(term: Term): string {
  return term.map(({ variable, power }) => `${variable}^${power}`).join('*');
}

/** Every term that divides this one, without the constant and the term itself. */
function properDivisors(term: Term): Term[] {
  const divisors: Term[] = [];
  const lower = (place: number, chosen: Factor[]): void => {
    const factor = term[place];
    if (factor === undefined) {
      if (chosen.length > 0 && termKey(chosen) !== termKey(term)) divisors.push([...chosen]);
      return;
    }
    for (let power = 0; power <= factor.power; power += 1) {
      lower(place + 1, power === 0 ? chosen : [...chosen, { variable: factor.variable, power }]);
    }
  };
  lower(0, []);
  return divisors;
}

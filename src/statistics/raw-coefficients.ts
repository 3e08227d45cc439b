/** From coefficients of basis columns to coefficients of raw powers and products. */
import { add, type DoubleDouble, divide, fromDouble, multiply, subtract, toDouble, zero } from './double-double.ts';
import { type Term, type TermBasis, termKey } from './term-basis.ts';

/**
 * Row t holds how much each basis column adds to the coefficient of raw term t; the last row is for the constant.
 * Double-double, because going from Chebyshev to raw powers cancels (five digits at degree 5).
 */
export interface RawMap {
  readonly terms: number;
  /** (terms + 1) x terms, row by row. */
  readonly entries: readonly DoubleDouble[];
}

export function rawMap(basis: TermBasis): RawMap {
  const terms = basis.terms.length;
  const rowOf = new Map(basis.terms.map((term, place) => [termKey(term), place]));
  rowOf.set('', terms);
  const entries = Array.from({ length: (terms + 1) * terms }, () => zero);
  basis.terms.forEach((term, column) => {
    const scale = fromDouble(basis.scales[column] as number);
    const parts = basis.chebyshev[column]
      ? expandChebyshev(term, basis)
      : [
          { term, coefficient: divide(fromDouble(1), scale) },
          { term: [], coefficient: divide(fromDouble(-(basis.offsets[column] as number)), scale) },
        ];
    for (const part of parts) {
      const at = (rowOf.get(termKey(part.term)) as number) * terms + column;
      entries[at] = add(entries[at] as DoubleDouble, part.coefficient);
    }
  });
  return { terms, entries };
}

/** Contribution of each basis column to the coefficient of raw term `row` (the constant when row = terms). */
export function rawContrast(map: RawMap, row: number): Float64Array {
  return Float64Array.from({ length: map.terms }, (_, column) =>
    toDouble(map.entries[row * map.terms + column] as DoubleDouble),
  );
}

/** Coefficient of raw term `row`, summed in double-double: start + sum of entries times coefficients. */
export function rawCoefficient(
  map: RawMap,
  row: number,
  coefficients: Float64Array,
  start: DoubleDouble = zero,
): number {
  let sum = start;
  for (let column = 0; column < map.terms; column += 1) {
    const entry = map.entries[row * map.terms + column] as DoubleDouble;
    sum = add(sum, multiply(entry, fromDouble(coefficients[column] as number)));
  }
  return toDouble(sum);
}

interface Part {
  readonly term: Term;
  readonly coefficient: DoubleDouble;
}

/** T_a1(u1) T_a2(u2) ... multiplied out in raw powers of the variables. */
function expandChebyshev(term: Term, basis: TermBasis): Part[] {
  let parts: Part[] = [{ term: [], coefficient: fromDouble(1) }];
  for (const { variable, power } of term) {
    const polynomial = chebyshevPolynomial(
      power,
      basis.centres[variable] as number,
      basis.halfWidths[variable] as number,
    );
    parts = parts.flatMap((part) =>
      polynomial.map((coefficient, k) => ({
        term: k === 0 ? part.term : [...part.term, { variable, power: k }],
        coefficient: multiply(part.coefficient, coefficient),
      })),
    );
  }
  return parts;
}

/** Coefficients of T_degree((x - c) / h) in powers of x, from the constant up. */
function chebyshevPolynomial(degree: number, centre: number, halfWidth: number): DoubleDouble[] {
  const slope = divide(fromDouble(1), fromDouble(halfWidth));
  const constant = divide(fromDouble(-centre), fromDouble(halfWidth));
  let previous: DoubleDouble[] = [fromDouble(1)];
  let current: DoubleDouble[] = [constant, slope];
  for (let k = 1; k < degree; k += 1) {
    const next: DoubleDouble[] = Array.from({ length: k + 2 }, (_, power) => {
      const raised = multiply(slope, current[power - 1] ?? zero);
      const kept = multiply(constant, current[power] ?? zero);
      const doubled = multiply(fromDouble(2), add(raised, kept));
      return subtract(doubled, previous[power] ?? zero);
    });
    previous = current;
    current = next;
  }
  return current;
}

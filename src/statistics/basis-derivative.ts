/** How the columns of a term basis move when one variable is measured wrong by the same error in many rows. */
import { type Term, type TermBasis, termKey } from './term-basis.ts';

/**
 * Change of columns and response for an error of size 1: column t by constants[t] + sum_s matrix[t][s] * (column s), the
 * response column by constant + slope * (response column).
 */
export interface Perturbation {
  readonly constants: Float64Array;
  /** p x p, row by row. */
  readonly matrix: Float64Array;
  readonly response: { readonly constant: number; readonly slope: number };
}

/**
 * `relative`: the variable is measured as value * (1 + e), as with a wrong scale or clock. `constant`: as value + e, in the
 * unit of the variable.
 */
export type ErrorShape = 'relative' | 'constant';

/**
 * Change of the columns with variable number `variable`. For Chebyshev columns, with u = (x - c) / h,
 * x dT_a/dx = (c / h + u) T_a'(u), dT_a/dx = T_a'(u) / h and T_a' = 2 a (T_(a-1) + T_(a-3) + ...), T_0 counted half: sums of
 * columns again, because every divisor of such a term is a term. Null for a constant error of a raw power, whose
 * derivative is no column.
 */
export function predictorPerturbation(basis: TermBasis, variable: number, shape: ErrorShape): Perturbation | null {
  const p = basis.terms.length;
  const placeOf = new Map(basis.terms.map((term, place) => [termKey(term), place]));
  const constants = new Float64Array(p);
  const matrix = new Float64Array(p * p);
  for (const [place, term] of basis.terms.entries()) {
    const power = term.find((factor) => factor.variable === variable)?.power ?? 0;
    if (power === 0) continue;
    if (!basis.chebyshev[place]) {
      if (shape === 'constant') return null;
      // The raw power is column * scale + offset, and changes by `power` times itself.
      matrix[place * p + place] = power;
      constants[place] = (power * (basis.offsets[place] as number)) / (basis.scales[place] as number);
      continue;
    }
    const change = chebyshevChange(
      power,
      basis.centres[variable] as number,
      basis.halfWidths[variable] as number,
      shape,
    );
    change.forEach((coefficient, degree) => {
      if (coefficient === 0) return;
      const key = termKey(withPower(term, variable, degree));
      if (key === '') constants[place] = (constants[place] as number) + coefficient;
      else {
        const at = place * p + (placeOf.get(key) as number);
        matrix[at] = (matrix[at] as number) + coefficient;
      }
    });
  }
  return { constants, matrix, response: { constant: 0, slope: 0 } };
}

/** Change of the response, which enters the kernel less `offset`. */
export function responsePerturbation(terms: number, offset: number, shape: ErrorShape): Perturbation {
  return {
    constants: new Float64Array(terms),
    matrix: new Float64Array(terms * terms),
    response: shape === 'relative' ? { constant: offset, slope: 1 } : { constant: 1, slope: 0 },
  };
}

/** Coefficients of T_0 .. T_degree in the change of T_degree. */
function chebyshevChange(degree: number, centre: number, halfWidth: number, shape: ErrorShape): number[] {
  const derivative = Array.from({ length: degree + 1 }, (_, k) => {
    if (k >= degree || (degree - k) % 2 === 0) return 0;
    return k === 0 ? degree : 2 * degree;
  });
  if (shape === 'constant') return derivative.map((value) => value / halfWidth);
  const change = derivative.map((value) => (value * centre) / halfWidth);
  // u T_0 = T_1 and u T_k = (T_(k+1) + T_(k-1)) / 2.
  derivative.forEach((value, k) => {
    if (k === 0) change[1] = (change[1] as number) + value;
    else {
      change[k + 1] = (change[k + 1] ?? 0) + value / 2;
      change[k - 1] = (change[k - 1] as number) + value / 2;
    }
  });
  return change.slice(0, degree + 1);
}

function withPower(term: Term, variable: number, power: number): Term {
  return term.flatMap((factor) => {
    if (factor.variable !== variable) return [factor];
    return power === 0 ? [] : [{ variable, power }];
  });
}

/** Cholesky factorisation of small symmetric matrices with unit diagonal, and the solves that go with it. */

/** Below this pivot a predictor counts as a linear combination of the others. */
export const refusedPivot = 1e-8;
/** Below this pivot digits run out and the answer says so. */
export const poorPivot = 1e-4;

/** Lower factor C (n x n, row by row) with C C' = matrix; pivots are the squares of its diagonal. */
export interface CholeskyFactor {
  readonly size: number;
  readonly lower: Float64Array;
  readonly pivots: Float64Array;
}

/**
 * Factor of a symmetric matrix (n x n, row by row). Stops at the first pivot below `refusedPivot` and names it:
 * on a correlation matrix the pivot of row j is 1 - R^2 of variable j on those before it.
 *
 * @param into room for the factor; only its lower triangle is written
 */
export function cholesky(
  matrix: Float64Array,
  size: number,
  into: CholeskyFactor = { size, lower: new Float64Array(size * size), pivots: new Float64Array(size) },
): { readonly ok: true; readonly factor: CholeskyFactor } | { readonly ok: false; readonly row: number } {
  const { lower, pivots } = into;
  for (let j = 0; j < size; j += 1) {
    let pivot = matrix[j * size + j] as number;
    for (let k = 0; k < j; k += 1) pivot -= (lower[j * size + k] as number) * (lower[j * size + k] as number);
    if (!(pivot >= refusedPivot)) return { ok: false, row: j };
    pivots[j] = pivot;
    const diagonal = Math.sqrt(pivot);
    lower[j * size + j] = diagonal;
    for (let i = j + 1; i < size; i += 1) {
      let sum = matrix[i * size + j] as number;
      for (let k = 0; k < j; k += 1) sum -= (lower[i * size + k] as number) * (lower[j * size + k] as number);
      lower[i * size + j] = sum / diagonal;
    }
  }
  return { ok: true, factor: into };
}

/** Solves C x = right; `solution` is room for x, and may be `right` itself. */
export function solveLower(
  { size, lower }: CholeskyFactor,
  right: Float64Array,
  solution: Float64Array = new Float64Array(size),
): Float64Array {
  for (let i = 0; i < size; i += 1) {
    let sum = right[i] as number;
    for (let k = 0; k < i; k += 1) sum -= (lower[i * size + k] as number) * (solution[k] as number);
    solution[i] = sum / (lower[i * size + i] as number);
  }
  return solution;
}

/** Solves C' x = right; `solution` is room for x, and may be `right` itself. */
export function solveUpper(
  { size, lower }: CholeskyFactor,
  right: Float64Array,
  solution: Float64Array = new Float64Array(size),
): Float64Array {
  for (let i = size - 1; i >= 0; i -= 1) {
    let sum = right[i] as number;
    for (let k = i + 1; k < size; k += 1) sum -= (lower[k * size + i] as number) * (solution[k] as number);
    solution[i] = sum / (lower[i * size + i] as number);
  }
  return solution;
}

/** Diagonal of the inverse of C C'; on a correlation matrix these are the variance inflation factors. */
export function inverseDiagonal(factor: CholeskyFactor): Float64Array {
  const diagonal = new Float64Array(factor.size);
  for (let j = 0; j < factor.size; j += 1) {
    const unit = new Float64Array(factor.size);
    unit[j] = 1;
    diagonal[j] = squaredLength(solveLower(factor, unit));
  }
  return diagonal;
}

/** Sum of squares of a vector. */
export function squaredLength(vector: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < vector.length; i += 1) sum += (vector[i] as number) * (vector[i] as number);
  return sum;
}

/** Inverse and determinant of a small positive definite matrix. */
import ln from '@stdlib/math-base-special-ln';
import { cholesky, solveLower, solveUpper } from './cholesky.ts';

export interface SymmetricInverse {
  /** n x n, row by row, symmetric. */
  readonly inverse: Float64Array;
  readonly logDeterminant: number;
}

/**
 * Inverse through the Cholesky factor of the matrix scaled to a unit diagonal, so that units do not cost digits.
 * Null when the matrix is not positive definite or a scaled pivot falls below 1e-8.
 */
export function symmetricInverse(matrix: Float64Array, size: number): SymmetricInverse | null {
  const scales = new Float64Array(size);
  for (let j = 0; j < size; j += 1) {
    const diagonal = matrix[j * size + j] as number;
    if (!(diagonal > 0)) return null;
    scales[j] = Math.sqrt(diagonal);
  }
  const scaled = new Float64Array(size * size);
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1) {
      scaled[i * size + j] =
        i === j ? 1 : (matrix[i * size + j] as number) / (scales[i] as number) / (scales[j] as number);
    }
  }
  const factored = cholesky(scaled, size);
  if (!factored.ok) return null;
  const { factor } = factored;
  const inverse = new Float64Array(size * size);
  let logDeterminant = 0;
  for (let j = 0; j < size; j += 1) {
    logDeterminant += ln(factor.pivots[j] as number) + 2 * ln(scales[j] as number);
    const unit = new Float64Array(size);
    unit[j] = 1;
    const solved = solveUpper(factor, solveLower(factor, unit));
    for (let i = 0; i < size; i += 1) {
      inverse[i * size + j] = (solved[i] as number) / (scales[i] as number) / (scales[j] as number);
    }
  }
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < i; j += 1) {
      const mean = ((inverse[i * size + j] as number) + (inverse[j * size + i] as number)) / 2;
      inverse[i * size + j] = mean;
      inverse[j * size + i] = mean;
    }
  }
  return { inverse, logDeterminant };
}

/** Matrix (n x n, row by row) times vector. */
export function matrixTimesVector(matrix: Float64Array, vector: Float64Array): Float64Array {
  const size = vector.length;
  const product = new Float64Array(size);
  for (let i = 0; i < size; i += 1) {
    let sum = 0;
    for (let j = 0; j < size; j += 1) sum += (matrix[i * size + j] as number) * (vector[j] as number);
    product[i] = sum;
  }
  return product;
}

/** left' M right. */
export function bilinear(left: Float64Array, matrix: Float64Array, right: Float64Array): number {
  const product = matrixTimesVector(matrix, right);
  let sum = 0;
  for (let i = 0; i < left.length; i += 1) sum += (left[i] as number) * (product[i] as number);
  return sum;
}

/** Product of two n x n matrices, row by row. */
export function multiplySquare(first: Float64Array, second: Float64Array, size: number): Float64Array {
  const product = new Float64Array(size * size);
  for (let i = 0; i < size; i += 1) {
    for (let k = 0; k < size; k += 1) {
      const value = first[i * size + k] as number;
      for (let j = 0; j < size; j += 1) {
        product[i * size + j] = (product[i * size + j] as number) + value * (second[k * size + j] as number);
      }
    }
  }
  return product;
}

/** Trace of the product of two n x n matrices. */
export function traceOfProduct(first: Float64Array, second: Float64Array, size: number): number {
  let trace = 0;
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1) trace += (first[i * size + j] as number) * (second[j * size + i] as number);
  }
  return trace;
}

/** Small least-squares steps from rows of derivatives: normal matrix, its solution and its inverse. */
import { type CholeskyFactor, cholesky, solveLower, solveUpper } from '../statistics/cholesky.ts';

/** Sums over rows: N = sum g g', r = sum g e, both of `size` parameters. */
export interface NormalEquations {
  readonly size: number;
  readonly matrix: Float64Array;
  readonly right: Float64Array;
}

/** Empty sums. */
export function normalEquations(size: number): NormalEquations {
  return { size, matrix: new Float64Array(size * size), right: new Float64Array(size) };
}

/** Adds one row of derivatives and its residual. */
export function addRow({ size, matrix, right }: NormalEquations, row: Float64Array, residual: number): void {
  for (let i = 0; i < size; i += 1) {
    const value = row[i] as number;
    right[i] = (right[i] as number) + value * residual;
    for (let j = 0; j <= i; j += 1) {
      matrix[i * size + j] = (matrix[i * size + j] as number) + value * (row[j] as number);
    }
  }
}

interface Scaled {
  readonly factor: CholeskyFactor;
  readonly scale: Float64Array;
}

/** Factor of the matrix scaled to unit diagonal, with `damping` added there; null when parameters cannot be told apart. */
function scaledFactor({ size, matrix }: NormalEquations, damping: number): Scaled | null {
  const scale = new Float64Array(size);
  for (let i = 0; i < size; i += 1) {
    const diagonal = matrix[i * size + i] as number;
    if (!(diagonal > 0 && diagonal < Number.POSITIVE_INFINITY)) return null;
    scale[i] = 1 / Math.sqrt(diagonal);
  }
  const scaled = new Float64Array(size * size);
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      const entry = (matrix[i * size + j] as number) * (scale[i] as number) * (scale[j] as number);
      const kept = i === j ? 1 + damping : entry;
      scaled[i * size + j] = kept;
      scaled[j * size + i] = kept;
    }
  }
  const result = cholesky(scaled, size);
  return result.ok ? { factor: result.factor, scale } : null;
}

/** Solution of (N + damping diag N) step = r; null when parameters cannot be told apart. */
export function solveStep(equations: NormalEquations, damping: number): Float64Array | null {
  const scaled = scaledFactor(equations, damping);
  if (scaled === null) return null;
  const { factor, scale } = scaled;
  const right = equations.right.map((value, i) => value * (scale[i] as number));
  return solveUpper(factor, solveLower(factor, right)).map((value, i) => value * (scale[i] as number));
}

/** Inverse of N, row by row; null when parameters cannot be told apart. */
export function inverseNormal(equations: NormalEquations): Float64Array | null {
  const scaled = scaledFactor(equations, 0);
  if (scaled === null) return null;
  const { size } = equations;
  const { factor, scale } = scaled;
  const inverse = new Float64Array(size * size);
  for (let j = 0; j < size; j += 1) {
    const unit = new Float64Array(size);
    unit[j] = 1;
    const column = solveUpper(factor, solveLower(factor, unit));
    for (let i = 0; i < size; i += 1) {
      inverse[i * size + j] = (column[i] as number) * (scale[i] as number) * (scale[j] as number);
    }
  }
  return inverse;
}

/** Small least-squares steps from sums over rows of derivatives: normal matrix, its solution and its inverse. */
import { type CholeskyFactor, cholesky, solveLower, solveUpper } from '../statistics/cholesky.ts';

/** Sums over rows: N = sum g g' (lower triangle, row by row), r = sum g e, both of `size` parameters. */
export interface NormalEquations {
  readonly size: number;
  readonly matrix: Float64Array;
  readonly right: Float64Array;
  /** Room in which they are solved, so that a search over many starts makes no garbage. */
  readonly room: { readonly scale: Float64Array; readonly scaled: Float64Array; readonly factor: CholeskyFactor };
}

/** Empty sums. */
export function normalEquations(size: number): NormalEquations {
  return {
    size,
    matrix: new Float64Array(size * size),
    right: new Float64Array(size),
    room: {
      scale: new Float64Array(size),
      scaled: new Float64Array(size * size),
      factor: { size, lower: new Float64Array(size * size), pivots: new Float64Array(size) },
    },
  };
}

/** Factors the matrix scaled to unit diagonal, with `damping` added there; false when parameters cannot be told apart. */
function factorScaled({ size, matrix, room }: NormalEquations, damping: number): boolean {
  const { scale, scaled, factor } = room;
  for (let i = 0; i < size; i += 1) {
    const diagonal = matrix[i * size + i] as number;
    if (!(diagonal > 0 && diagonal < Number.POSITIVE_INFINITY)) return false;
    scale[i] = 1 / Math.sqrt(diagonal);
  }
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < i; j += 1) {
      scaled[i * size + j] = (matrix[i * size + j] as number) * (scale[i] as number) * (scale[j] as number);
    }
    scaled[i * size + i] = 1 + damping;
  }
  return cholesky(scaled, size, factor).ok;
}

/** Writes the solution of (N + damping diag N) step = r into `step`; false when parameters cannot be told apart. */
export function solveStep(equations: NormalEquations, damping: number, step: Float64Array): boolean {
  if (!factorScaled(equations, damping)) return false;
  const { size, right, room } = equations;
  const { scale, factor } = room;
  for (let i = 0; i < size; i += 1) step[i] = (right[i] as number) * (scale[i] as number);
  solveUpper(factor, solveLower(factor, step, step), step);
  for (let i = 0; i < size; i += 1) step[i] = (step[i] as number) * (scale[i] as number);
  return true;
}

/** Inverse of N, row by row; null when parameters cannot be told apart. */
export function inverseNormal(equations: NormalEquations): Float64Array | null {
  if (!factorScaled(equations, 0)) return null;
  const { size, room } = equations;
  const { scale, factor } = room;
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

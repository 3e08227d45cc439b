/**
 * Least squares and cluster-robust errors written out row by row, with dummies for the groups and n_g x n_g matrices:
 * slow, and nothing of it goes through moments.
 */
import { symmetricEigen } from '../../src/statistics/symmetric-eigen.ts';

type Matrix = number[][];

export interface RowByRow {
  /** Slopes first, then the intercept (pooled) or nothing that is compared (dummies). */
  readonly coefficients: number[];
  readonly residualSumOfSquares: number;
  readonly degreesOfFreedom: number;
  readonly classical: number[];
  readonly cr0: number[];
  readonly cr2: number[];
  readonly satterthwaite: number[];
}

/**
 * @param rows predictors of each row
 * @param groups group of each row
 * @param dummies true: one intercept a group; false: one for all; 'none': through the origin
 * @param clusters cluster of each row, the group unless given
 */
export function rowByRow(
  rows: Matrix,
  y: number[],
  groups: number[],
  dummies: boolean | 'none',
  clusters = groups,
): RowByRow {
  const levels = [...new Set(groups)];
  const names = [...new Set(clusters)];
  const constants = (i: number) => {
    if (dummies === 'none') return [];
    return dummies ? levels.map((name) => (groups[i] === name ? 1 : 0)) : [1];
  };
  const design = rows.map((row, i) => [...row, ...constants(i)]);
  const k = (design[0] as number[]).length;
  const inverse = invert(multiply(transpose(design), design));
  const coefficients = multiply(
    inverse,
    multiply(
      transpose(design),
      y.map((value) => [value]),
    ),
  ).map(first);
  const residuals = y.map((value, i) => value - dot(design[i] as number[], coefficients));
  const rss = dot(residuals, residuals);
  const degreesOfFreedom = y.length - k;
  const hat = multiply(multiply(design, inverse), transpose(design));
  const members = names.map((name) => clusters.flatMap((cluster, i) => (cluster === name ? [i] : [])));
  const adjusts = members.map((own) => inverseRoot(own.map((i) => own.map((j) => (i === j ? 1 : 0) - at(hat, i, j)))));
  const each = (build: (contrast: number[]) => number) =>
    Array.from({ length: k }, (_, j) => build(Array.from({ length: k }, (_, i) => (i === j ? 1 : 0))));
  // Weights of the rows of group g in the contrast, M c projected on the rows, with or without the adjustment.
  const weights = (contrast: number[], g: number, adjusted: boolean): number[] => {
    const own = members[g] as number[];
    const plain = own.map((i) =>
      dot(
        design[i] as number[],
        multiply(
          inverse,
          contrast.map((v) => [v]),
        ).map(first),
      ),
    );
    return adjusted
      ? multiply(
          adjusts[g] as Matrix,
          plain.map((v) => [v]),
        ).map(first)
      : plain;
  };
  const variance = (contrast: number[], adjusted: boolean) =>
    names.reduce((sum, _, g) => {
      const own = (members[g] as number[]).map((i) => residuals[i] as number);
      return sum + dot(weights(contrast, g, adjusted), own) ** 2;
    }, 0);
  const satterthwaite = (contrast: number[]) => {
    // P_gh = w_g'(I - H)_gh w_h, because I - H is its own square.
    const each = names.map((_, g) => weights(contrast, g, true));
    let trace = 0;
    let squares = 0;
    for (const [g, first] of each.entries()) {
      for (const [h, second] of each.entries()) {
        let entry = 0;
        for (const [a, i] of (members[g] as number[]).entries()) {
          for (const [b, j] of (members[h] as number[]).entries()) {
            entry += (first[a] as number) * ((i === j ? 1 : 0) - at(hat, i, j)) * (second[b] as number);
          }
        }
        squares += entry * entry;
        if (g === h) trace += entry;
      }
    }
    return (trace * trace) / squares;
  };
  return {
    coefficients,
    residualSumOfSquares: rss,
    degreesOfFreedom,
    classical: inverse.map((row, j) => (row[j] as number) * (rss / degreesOfFreedom)),
    cr0: each((contrast) => variance(contrast, false)),
    cr2: each((contrast) => variance(contrast, true)),
    satterthwaite: each(satterthwaite),
  };
}

/** Symmetric inverse square root; directions with eigenvalue 0 are left out (Moore-Penrose). */
function inverseRoot(matrix: Matrix): Matrix {
  const n = matrix.length;
  const { values, vectors } = symmetricEigen(Float64Array.from(matrix.flat()), n);
  return matrix.map((_, i) =>
    matrix.map((_, j) => {
      let sum = 0;
      for (let k = 0; k < n; k += 1) {
        const value = values[k] as number;
        if (value > 1e-9) sum += ((vectors[i * n + k] as number) * (vectors[j * n + k] as number)) / Math.sqrt(value);
      }
      return sum;
    }),
  );
}

/** Gauss-Jordan with full row pivoting, then one Newton step. */
function invert(matrix: Matrix): Matrix {
  const n = matrix.length;
  const work = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
  for (let j = 0; j < n; j += 1) {
    let best = j;
    for (let i = j; i < n; i += 1) if (Math.abs(at(work, i, j)) > Math.abs(at(work, best, j))) best = i;
    [work[j], work[best]] = [work[best] as number[], work[j] as number[]];
    const pivot = at(work, j, j);
    work[j] = (work[j] as number[]).map((value) => value / pivot);
    for (let i = 0; i < n; i += 1) {
      if (i === j) continue;
      const factor = at(work, i, j);
      work[i] = (work[i] as number[]).map((value, k) => value - factor * at(work, j, k));
    }
  }
  const inverse = work.map((row) => row.slice(n));
  const correction = multiply(matrix, inverse).map((row, i) => row.map((value, j) => (i === j ? 2 : 0) - value));
  return multiply(inverse, correction);
}

function multiply(a: Matrix, b: Matrix): Matrix {
  return a.map((row) => (b[0] as number[]).map((_, j) => row.reduce((sum, value, k) => sum + value * at(b, k, j), 0)));
}
function transpose(a: Matrix): Matrix {
  return (a[0] as number[]).map((_, j) => a.map((row) => row[j] as number));
}
function dot(a: number[], b: number[]): number {
  return a.reduce((sum, value, k) => sum + value * (b[k] as number), 0);
}
function first(row: number[]): number {
  return row[0] as number;
}
function at(matrix: Matrix, row: number, column: number): number {
  return matrix[row]?.[column] as number;
}

/** Eigenvalues and eigenvectors of a small symmetric matrix. */

export interface SymmetricEigen {
  readonly size: number;
  /** In no particular order. */
  readonly values: Float64Array;
  /** n x n, row by row; column k is the unit eigenvector of values[k]. */
  readonly vectors: Float64Array;
}

const maximumSweeps = 60;

/**
 * Cyclic Jacobi rotations (Golub & Van Loan, Matrix Computations, section 8.5): accurate to the last digits for the
 * sizes here (at most ten), with sums, products, quotients and square roots only.
 * @param matrix n x n, row by row; not changed
 */
export function symmetricEigen(matrix: Float64Array, size: number): SymmetricEigen {
  const a = Float64Array.from(matrix);
  const vectors = new Float64Array(size * size);
  for (let i = 0; i < size; i += 1) vectors[i * size + i] = 1;
  for (let sweep = 0; sweep < maximumSweeps; sweep += 1) {
    let rotated = false;
    for (let p = 0; p < size - 1; p += 1) {
      for (let q = p + 1; q < size; q += 1) rotated = rotate(a, vectors, size, p, q) || rotated;
    }
    if (!rotated) break;
  }
  const values = new Float64Array(size);
  for (let i = 0; i < size; i += 1) values[i] = a[i * size + i] as number;
  return { size, values, vectors };
}

/** Makes a[p][q] zero; false when it is already negligible beside the diagonal. */
function rotate(a: Float64Array, vectors: Float64Array, size: number, p: number, q: number): boolean {
  const off = a[p * size + q] as number;
  const app = a[p * size + p] as number;
  const aqq = a[q * size + q] as number;
  if (Math.abs(off) <= 1e-18 * (Math.abs(app) + Math.abs(aqq)) || off === 0) {
    a[p * size + q] = 0;
    a[q * size + p] = 0;
    return false;
  }
  const theta = (aqq - app) / (2 * off);
  const sign = theta >= 0 ? 1 : -1;
  // For a huge theta the square would overflow; its reciprocal is then exact enough.
  const tangent = Math.abs(theta) > 1e150 ? 1 / (2 * theta) : sign / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
  const cosine = 1 / Math.sqrt(tangent * tangent + 1);
  const sine = tangent * cosine;
  for (let k = 0; k < size; k += 1) {
    const akp = a[k * size + p] as number;
    const akq = a[k * size + q] as number;
    a[k * size + p] = cosine * akp - sine * akq;
    a[k * size + q] = sine * akp + cosine * akq;
  }
  for (let k = 0; k < size; k += 1) {
    const apk = a[p * size + k] as number;
    const aqk = a[q * size + k] as number;
    a[p * size + k] = cosine * apk - sine * aqk;
    a[q * size + k] = sine * apk + cosine * aqk;
    const vkp = vectors[k * size + p] as number;
    const vkq = vectors[k * size + q] as number;
    vectors[k * size + p] = cosine * vkp - sine * vkq;
    vectors[k * size + q] = sine * vkp + cosine * vkq;
  }
  a[p * size + q] = 0;
  a[q * size + p] = 0;
  return true;
}

/** Tests of several coefficients together. */
import { type Cluster, column, fullLeverage, scaledContrast } from './cluster-robust.ts';
import { fisherUpper } from './distributions.ts';
import type { Contrast, LeastSquares } from './least-squares.ts';
import { symmetricEigen } from './symmetric-eigen.ts';
import { bilinear, symmetricInverse } from './symmetric-inverse.ts';

export interface JointTest {
  readonly f: number;
  readonly numeratorDegrees: number;
  readonly denominatorDegrees: number;
  readonly pValue: number;
}

/**
 * F test of contrasts being zero, errors independent with equal variance.
 * @param estimates values of the contrasts
 * @returns null when a contrast has no spread or they depend on each other
 */
export function classicalJointTest(
  fit: LeastSquares,
  contrasts: readonly Contrast[],
  estimates: readonly number[],
): JointTest | null {
  const vectors = contrasts.map((contrast) => scaledContrast(fit, contrast, fit.model === 'pooled').vector);
  const inverse = symmetricInverse(crossProducts(vectors), vectors.length)?.inverse;
  if (inverse === undefined || !(fit.residualVariance > 0)) return null;
  const values = Float64Array.from(estimates);
  const f = bilinear(values, inverse, values) / fit.residualVariance / vectors.length;
  return testOf(f, vectors.length, fit.degreesOfFreedom);
}

/**
 * The same from CR2: Q = b'C'(C V C')^-1 C b with an approximate Hotelling distribution,
 * F = (eta - q + 1) / (eta q) Q on q and eta - q + 1 degrees of freedom, eta = q (q + 1) / sum_st Var d_st, where d is V
 * relative to its expectation under independent errors (AHT of Pustejovsky & Tipton 2018, J. Bus. Econ. Stat. 36:672;
 * Tipton & Pustejovsky 2015). With P_gh^st the covariance of the adjusted scores of contrasts s and t in clusters g and h,
 * Var d_st = sum_gh (P_gh^ss P_gh^tt + P_gh^st P_gh^ts).
 * @param clusters see cluster-robust.ts
 * @returns null when the clusters cannot carry the test: dependent contrasts, or eta below q
 */
export function clusterRobustJointTest(
  fit: LeastSquares,
  clusters: readonly Cluster[],
  contrasts: readonly Contrast[],
  estimates: readonly number[],
  intercept: boolean,
): JointTest | null {
  const q = contrasts.length;
  const scaled = contrasts.map((contrast) => scaledContrast(fit, contrast, intercept));
  const root = inverseRoot(crossProducts(scaled.map(({ vector }) => vector)), q);
  if (root === null) return null;
  const vectors = combine(
    root,
    scaled.map(({ vector }) => vector),
  );
  const values = root.map((row) => row.reduce((sum, weight, t) => sum + weight * (estimates[t] as number), 0));
  const slopesFrom = scaled[0]?.slopesFrom ?? 0;
  const parts = clusters.map((cluster) => clusterPart(cluster, vectors));
  const variance = new Float64Array(q * q);
  for (const { adjusted } of parts) {
    for (let s = 0; s < q; s += 1) {
      for (let t = 0; t < q; t += 1) {
        variance[s * q + t] = (variance[s * q + t] as number) + (adjusted[s] as number) * (adjusted[t] as number);
      }
    }
  }
  const inverse = symmetricInverse(variance, q)?.inverse;
  if (inverse === undefined) return null;
  const statistic = bilinear(Float64Array.from(values), inverse, Float64Array.from(values));
  const eta = (q * (q + 1)) / spreadOfVariance(parts, q, slopesFrom);
  if (!(eta > q - 1)) return null;
  return testOf(((eta - q + 1) / (eta * q)) * statistic, q, eta - q + 1);
}

function testOf(f: number, numeratorDegrees: number, denominatorDegrees: number): JointTest {
  return { f, numeratorDegrees, denominatorDegrees, pValue: fisherUpper(f, numeratorDegrees, denominatorDegrees) };
}

interface ClusterPart {
  readonly intercept: number;
  /** Adjusted score of each contrast. */
  readonly adjusted: Float64Array;
  /** q x q: d_gs'd_gt. */
  readonly own: Float64Array;
  /** xi_gs of each contrast. */
  readonly shifts: readonly Float64Array[];
}

function clusterPart({ score, eigen, intercept }: Cluster, vectors: readonly Float64Array[]): ClusterPart {
  const q = vectors.length;
  const size = score.length;
  const adjusted = new Float64Array(q);
  const own = new Float64Array(q * q);
  const shifts = vectors.map(() => new Float64Array(size));
  for (let k = 0; k < size; k += 1) {
    const leverage = eigen.values[k] as number;
    if (leverage > fullLeverage) continue;
    const stretched = 1 / Math.sqrt(1 - leverage);
    const along = vectors.map((vector) => column(eigen, k, vector));
    const scored = stretched * column(eigen, k, score);
    for (let s = 0; s < q; s += 1) {
      const w = along[s] as number;
      adjusted[s] = (adjusted[s] as number) + w * scored;
      for (let t = 0; t < q; t += 1) own[s * q + t] = (own[s * q + t] as number) + leverage * w * (along[t] as number);
      const shift = shifts[s] as Float64Array;
      for (let j = 0; j < size; j += 1) {
        shift[j] = (shift[j] as number) + (eigen.vectors[j * size + k] as number) * leverage * stretched * w;
      }
    }
  }
  return { intercept, adjusted, own, shifts };
}

/** sum over s and t of Var d_st. */
function spreadOfVariance(parts: readonly ClusterPart[], q: number, slopesFrom: number): number {
  let sum = 0;
  for (const [g, first] of parts.entries()) {
    for (let h = 0; h <= g; h += 1) {
      const second = parts[h] as ClusterPart;
      const from = first.intercept === second.intercept ? 0 : slopesFrom;
      const entry = (s: number, t: number) =>
        g === h
          ? (first.own[s * q + t] as number)
          : -product(first.shifts[s] as Float64Array, second.shifts[t] as Float64Array, from);
      let pair = 0;
      for (let s = 0; s < q; s += 1) {
        for (let t = 0; t < q; t += 1) pair += entry(s, s) * entry(t, t) + entry(s, t) * entry(t, s);
      }
      sum += g === h ? pair : 2 * pair;
    }
  }
  return sum;
}

function product(first: Float64Array, second: Float64Array, from: number): number {
  let sum = 0;
  for (let j = from; j < first.length; j += 1) sum += (first[j] as number) * (second[j] as number);
  return sum;
}

function crossProducts(vectors: readonly Float64Array[]): Float64Array {
  return Float64Array.from(vectors.flatMap((first) => vectors.map((second) => product(first, second, 0))));
}

/** Symmetric inverse square root, row by row; null when the matrix is singular. */
function inverseRoot(matrix: Float64Array, size: number): number[][] | null {
  const { values, vectors } = symmetricEigen(matrix, size);
  const largest = Math.max(...values);
  if (!(Math.min(...values) > 1e-12 * largest)) return null;
  return Array.from({ length: size }, (_, i) =>
    Array.from({ length: size }, (__, j) => {
      let sum = 0;
      for (let k = 0; k < size; k += 1) {
        sum += ((vectors[i * size + k] as number) * (vectors[j * size + k] as number)) / Math.sqrt(values[k] as number);
      }
      return sum;
    }),
  );
}

function combine(weights: readonly (readonly number[])[], vectors: readonly Float64Array[]): Float64Array[] {
  return weights.map((row) => {
    const sum = new Float64Array((vectors[0] as Float64Array).length);
    row.forEach((weight, t) => {
      const vector = vectors[t] as Float64Array;
      for (let j = 0; j < sum.length; j += 1) sum[j] = (sum[j] as number) + weight * (vector[j] as number);
    });
    return sum;
  });
}

/**
 * Cluster-robust variances of a least-squares fit, clusters = groups, from moments only.
 *
 * With X_g the rows of group g (within: centred in the group), M = (X'X)^-1, scores s_g = X_g'e_g and Q_g = X_g'X_g:
 *   CR0 = M (sum s_g s_g') M,   CR1 = CR0 * G / (G - 1)                                   (Liang & Zeger 1986)
 *   CR2 = M (sum X_g'A_g e_g e_g'A_g X_g) M,  A_g = (I - X_g M X_g')^(-1/2)               (Bell & McCaffrey 2002)
 * and Satterthwaite degrees of freedom of CR2 under independent errors. A_g is never formed: with M = T T' and
 * B_g = T'Q_g T = V diag(l) V', X_g'A_g e_g = T^-T V diag((1 - l)^(-1/2)) V' T's_g, because
 * Z'(I - Z Z')^(-1/2) = (I - Z'Z)^(-1/2) Z'. Eigenvalues 1 are left out (Moore-Penrose). Absorbing the group intercepts
 * gives the same as dummies (Pustejovsky & Tipton 2018). T = C^-T here, C the Cholesky factor of the scaled X'X.
 */
import { solveLower } from './cholesky.ts';
import type { Contrast, LeastSquares } from './least-squares.ts';
import type { Moments } from './moments.ts';
import { type SymmetricEigen, symmetricEigen } from './symmetric-eigen.ts';

export interface ClusterRobust {
  readonly cr0: number;
  readonly cr1: number;
  readonly cr2: number;
  /** Satterthwaite degrees of freedom of CR2; NaN when no group leaves any (one group carries the contrast alone). */
  readonly degreesOfFreedom: number;
  /**
   * Share of the variance that CR2 captures under independent errors: 1 unless a group alone determines a direction
   * of the contrast; that direction is left out, and CR2 is then too small by about this factor.
   */
  readonly captured: number;
}

/** Above this, 1 - l is rounding: the group alone determines the direction. */
const fullLeverage = 1 - 1e-10;
/** Below this share of the contrast's variance the groups that are left have nothing but rounding to say. */
const leastTrace = 1e-8;

interface Cluster {
  /** T's_g, k entries. */
  readonly score: Float64Array;
  /** Of B_g. */
  readonly eigen: SymmetricEigen;
}

/** Groups whose rows bear on the slopes: the G of CR1. */
export function informativeGroups(fit: LeastSquares, groups: readonly Moments[]): number[] {
  const shares = informationShares(fit, groups);
  return groups.flatMap((_, group) => ((shares[group] as number) > 1e-12 ? [group] : []));
}

/** Share of each group in the information: trace of M Q_g over the number of parameters. Sums to 1. */
export function informationShares(fit: LeastSquares, groups: readonly Moments[]): Float64Array {
  return Float64Array.from(groups, (moments) => {
    if (moments.count === 0) return 0;
    const size = parameters(fit);
    const matrix = scaledInformation(fit, moments);
    let trace = 0;
    for (let j = 0; j < size; j += 1) trace += matrix[j * size + j] as number;
    return trace / size;
  });
}

/** CR0, CR1 and CR2 with degrees of freedom, of each contrast. */
export function clusterRobust(
  fit: LeastSquares,
  groups: readonly Moments[],
  contrasts: readonly Contrast[],
): ClusterRobust[] {
  const size = parameters(fit);
  const informative = informativeGroups(fit, groups);
  const clusters = informative.map((group): Cluster => {
    const moments = groups[group] as Moments;
    return { score: scaledScore(fit, moments), eigen: symmetricEigen(scaledInformation(fit, moments), size) };
  });
  return contrasts.map((contrast) => ofContrast(clusters, scaledContrast(fit, contrast)));
}

/** @param contrast T'c, k entries */
function ofContrast(clusters: readonly Cluster[], contrast: Float64Array): ClusterRobust {
  const size = contrast.length;
  let cr0 = 0;
  let cr2 = 0;
  let trace = 0;
  let squares = 0;
  const shifts: Float64Array[] = [];
  for (const { score, eigen } of clusters) {
    let plain = 0;
    for (let j = 0; j < size; j += 1) plain += (contrast[j] as number) * (score[j] as number);
    cr0 += plain * plain;
    // In the eigenbasis of B_g: w = V'T'c, and P_gg = sum l w^2, P_gh = -shift_g'shift_h.
    let adjusted = 0;
    let own = 0;
    const shift = new Float64Array(size);
    for (let k = 0; k < size; k += 1) {
      const leverage = eigen.values[k] as number;
      if (leverage > fullLeverage) continue;
      const w = column(eigen, k, contrast);
      const stretched = 1 / Math.sqrt(1 - leverage);
      adjusted += w * stretched * column(eigen, k, score);
      own += leverage * w * w;
      for (let j = 0; j < size; j += 1) {
        shift[j] = (shift[j] as number) + (eigen.vectors[j * size + k] as number) * leverage * stretched * w;
      }
    }
    cr2 += adjusted * adjusted;
    trace += own;
    squares += own * own;
    for (const other of shifts) {
      let product = 0;
      for (let j = 0; j < size; j += 1) product += (shift[j] as number) * (other[j] as number);
      squares += 2 * product * product;
    }
    shifts.push(shift);
  }
  const count = clusters.length;
  let information = 0;
  for (let j = 0; j < size; j += 1) information += (contrast[j] as number) * (contrast[j] as number);
  const enough = trace > leastTrace * information;
  return {
    cr0,
    cr1: count > 1 ? (cr0 * count) / (count - 1) : Number.NaN,
    cr2,
    degreesOfFreedom: enough ? (trace * trace) / squares : Number.NaN,
    captured: trace / information,
  };
}

/** Parameters k: the slopes, and when pooled the fitted value at the means in front. */
function parameters(fit: LeastSquares): number {
  return fit.model === 'pooled' ? fit.predictors + 1 : fit.predictors;
}

/** T'c: scaled by D^-1 and 1/sqrt(n), then through C^-1. */
function scaledContrast(fit: LeastSquares, contrast: Contrast): Float64Array {
  const slopes = whiten(fit, contrast.slopes);
  return fit.model === 'within' ? slopes : Float64Array.of(contrast.atMeans / Math.sqrt(fit.count), ...slopes);
}

/** C^-1 D^-1 v. */
function whiten(fit: LeastSquares, vector: Float64Array): Float64Array {
  return solveLower(
    fit.factor,
    vector.map((value, j) => value / (fit.scales[j] as number)),
  );
}

/** T's_g (2.7 of the formulas): scores of the group's rows about the overall means when pooled, about its own within. */
function scaledScore(fit: LeastSquares, { count, means, products }: Moments): Float64Array {
  const p = fit.predictors;
  const width = p + 1;
  const score = new Float64Array(p);
  for (let j = 0; j < p; j += 1) {
    let sum = products[j * width + p] as number;
    for (let k = 0; k < p; k += 1) sum -= (products[j * width + k] as number) * (fit.slopes[k] as number);
    score[j] = sum;
  }
  if (fit.model === 'within') return whiten(fit, score);
  let residual = (means[p] as number) - (fit.means[p] as number);
  for (let k = 0; k < p; k += 1) {
    residual -= ((means[k] as number) - (fit.means[k] as number)) * (fit.slopes[k] as number);
  }
  const total = residual * count;
  for (let j = 0; j < p; j += 1) {
    score[j] = (score[j] as number) + ((means[j] as number) - (fit.means[j] as number)) * total;
  }
  return Float64Array.of(total / Math.sqrt(fit.count), ...whiten(fit, score));
}

/** B_g = T'Q_g T, k x k. */
function scaledInformation(fit: LeastSquares, { count, means, products }: Moments): Float64Array {
  const p = fit.predictors;
  const width = p + 1;
  const pooled = fit.model === 'pooled';
  const size = parameters(fit);
  const first = size - p;
  const shifts = Float64Array.from({ length: p }, (_, j) =>
    pooled ? ((means[j] as number) - (fit.means[j] as number)) / (fit.scales[j] as number) : 0,
  );
  // Rows of Q_g on the correlation scale, then C^-1 from the left and, by symmetry, from the right.
  const half: Float64Array[] = [];
  for (let j = 0; j < p; j += 1) {
    const row = Float64Array.from({ length: p }, (_, k) => {
      const own = (products[j * width + k] as number) / (fit.scales[j] as number) / (fit.scales[k] as number);
      return own + count * (shifts[j] as number) * (shifts[k] as number);
    });
    half.push(solveLower(fit.factor, row));
  }
  const matrix = new Float64Array(size * size);
  for (let k = 0; k < p; k += 1) {
    const solved = solveLower(
      fit.factor,
      Float64Array.from(half, (row) => row[k] as number),
    );
    for (let j = 0; j < p; j += 1) matrix[(first + j) * size + first + k] = solved[j] as number;
  }
  if (pooled) {
    const edge = solveLower(fit.factor, shifts);
    matrix[0] = count / fit.count;
    for (let j = 0; j < p; j += 1) {
      const value = ((edge[j] as number) * count) / Math.sqrt(fit.count);
      matrix[j + 1] = value;
      matrix[(j + 1) * size] = value;
    }
  }
  return matrix;
}

/** Component of a vector along eigenvector k. */
function column({ size, vectors }: SymmetricEigen, k: number, vector: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < size; j += 1) sum += (vectors[j * size + k] as number) * (vector[j] as number);
  return sum;
}

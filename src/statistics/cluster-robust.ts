/**
 * Cluster-robust variances of a least-squares fit from the moments of the clusters only. Clusters are the groups of the
 * fit, or parts of them such as the rigs or players of a lab.
 *
 * With X_g the rows of group g (within: centred in the group), M = (X'X)^-1, scores s_g = X_g'e_g and Q_g = X_g'X_g:
 *   CR0 = M (sum s_g s_g') M,   CR1 = CR0 * G / (G - 1)                                   (Liang & Zeger 1986)
 *   CR2 = M (sum X_g'A_g e_g e_g'A_g X_g) M,  A_g = (I - X_g M X_g')^(-1/2)               (Bell & McCaffrey 2002)
 * and Satterthwaite degrees of freedom of CR2 under independent errors. A_g is never formed: with M = T T' and
 * B_g = T'Q_g T = V diag(l) V', X_g'A_g e_g = T^-T V diag((1 - l)^(-1/2)) V' T's_g, because
 * Z'(I - Z Z')^(-1/2) = (I - Z'Z)^(-1/2) Z'. Eigenvalues 1 are left out (Moore-Penrose). Absorbing the group intercepts
 * gives the same as dummies (Pustejovsky & Tipton 2018) as long as the group is the cluster. For smaller clusters the
 * intercept of the group is kept as a parameter of its own: rows are (1, x - group mean), orthogonal to the slopes, and
 * only clusters of one group meet in it. T = C^-T here, C the Cholesky factor of the scaled X'X.
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
export const fullLeverage = 1 - 1e-10;
/** Below this share of the contrast's variance the groups that are left have nothing but rounding to say. */
const leastTrace = 1e-8;

/** Rows of one group that may err together. */
export interface ClusterMoments {
  readonly moments: Moments;
  /** Index of the group in the fit to which all rows of the cluster belong. */
  readonly group: number;
}

/** A cluster in the coordinates in which X'X is the identity. */
export interface Cluster {
  /** T's_g, k entries. */
  readonly score: Float64Array;
  /** Of B_g. */
  readonly eigen: SymmetricEigen;
  /** Clusters with the same value share an intercept. */
  readonly intercept: number;
}

/** Count and means of the rows that share an intercept; null when the slopes stand alone. */
type Level = { readonly count: number; readonly means: Float64Array } | null;

/** Groups whose rows bear on the slopes: the G of CR1. */
export function informativeGroups(fit: LeastSquares, groups: readonly Moments[]): number[] {
  const shares = informationShares(fit, groups);
  return groups.flatMap((_, group) => ((shares[group] as number) > 1e-12 ? [group] : []));
}

/** Share of each group in the information: trace of M Q_g over the number of parameters. Sums to 1. */
export function informationShares(fit: LeastSquares, groups: readonly Moments[]): Float64Array {
  const level = fit.model === 'pooled' ? fit : null;
  return Float64Array.from(groups, (moments) => {
    if (moments.count === 0) return 0;
    const size = fit.predictors + (level === null ? 0 : 1);
    const matrix = scaledInformation(fit, moments, level);
    let trace = 0;
    for (let j = 0; j < size; j += 1) trace += matrix[j * size + j] as number;
    return trace / size;
  });
}

/** CR0, CR1 and CR2 with degrees of freedom, of each contrast; clusters are the groups of the fit. */
export function clusterRobust(
  fit: LeastSquares,
  groups: readonly Moments[],
  contrasts: readonly Contrast[],
): ClusterRobust[] {
  return clusterRobustOf(fit, clustersOfGroups(fit, groups), contrasts, fit.model === 'pooled');
}

/**
 * The same from clusters made beforehand.
 * @param intercept whether the clusters carry one beside the slopes: labs pooled, or clusters within groups
 */
export function clusterRobustOf(
  fit: LeastSquares,
  clusters: readonly Cluster[],
  contrasts: readonly Contrast[],
  intercept: boolean,
): ClusterRobust[] {
  return contrasts.map((contrast) => ofContrast(clusters, scaledContrast(fit, contrast, intercept)));
}

/** Clusters that are the groups of the fit. */
export function clustersOfGroups(fit: LeastSquares, groups: readonly Moments[]): Cluster[] {
  const level = fit.model === 'pooled' ? fit : null;
  return informativeGroups(fit, groups).map((group) => clusterOf(fit, groups[group] as Moments, level, 0));
}

/**
 * The same for clusters that are parts of the groups.
 * @param clusters moments of the same columns; together they hold the rows of `groups`
 */
export function clusterRobustWithin(
  fit: LeastSquares,
  groups: readonly Moments[],
  clusters: readonly ClusterMoments[],
  contrasts: readonly Contrast[],
): ClusterRobust[] {
  return clusterRobustOf(fit, clustersWithin(fit, groups, clusters), contrasts, fit.model !== 'throughOrigin');
}

/** Clusters that are parts of the groups of the fit. */
export function clustersWithin(
  fit: LeastSquares,
  groups: readonly Moments[],
  clusters: readonly ClusterMoments[],
): Cluster[] {
  return clusters.flatMap(({ moments, group }): Cluster[] => {
    if (moments.count === 0) return [];
    const level = fit.model === 'within' ? (groups[group] as Moments) : fit.model === 'pooled' ? fit : null;
    return [clusterOf(fit, moments, level, fit.model === 'within' ? group : 0)];
  });
}

function clusterOf(fit: LeastSquares, moments: Moments, level: Level, intercept: number): Cluster {
  const size = fit.predictors + (level === null ? 0 : 1);
  return {
    score: scaledScore(fit, moments, level),
    eigen: symmetricEigen(scaledInformation(fit, moments, level), size),
    intercept,
  };
}

/** @param contrast T'c, k entries */
function ofContrast(
  clusters: readonly Cluster[],
  { vector: contrast, slopesFrom }: { readonly vector: Float64Array; readonly slopesFrom: number },
): ClusterRobust {
  const size = contrast.length;
  let cr0 = 0;
  let cr2 = 0;
  let trace = 0;
  let squares = 0;
  const shifts: { readonly intercept: number; readonly shift: Float64Array }[] = [];
  for (const { score, eigen, intercept } of clusters) {
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
      const from = other.intercept === intercept ? 0 : slopesFrom;
      for (let j = from; j < size; j += 1) product += (shift[j] as number) * (other.shift[j] as number);
      squares += 2 * product * product;
    }
    shifts.push({ intercept, shift });
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

/** T'c and where the slopes begin in it: scaled by D^-1 and 1/sqrt(n), then through C^-1; an intercept stands before the slopes. */
export function scaledContrast(
  fit: LeastSquares,
  contrast: Contrast,
  intercept: boolean,
): { readonly vector: Float64Array; readonly slopesFrom: number } {
  const slopes = whiten(fit, contrast.slopes);
  if (!intercept) return { vector: slopes, slopesFrom: 0 };
  // Within groups a contrast is of slopes only, so the scale of its intercept does not matter.
  return { vector: Float64Array.of(contrast.atMeans / Math.sqrt(fit.count), ...slopes), slopesFrom: 1 };
}

/** C^-1 D^-1 v. */
function whiten(fit: LeastSquares, vector: Float64Array): Float64Array {
  return solveLower(
    fit.factor,
    vector.map((value, j) => value / (fit.scales[j] as number)),
  );
}

/** Means about which the rows of a cluster are taken: those of the level, zero through the origin, else its own. */
function centresOf(fit: LeastSquares, means: Float64Array, level: Level): Float64Array {
  if (level !== null) return level.means;
  return fit.model === 'throughOrigin' ? fit.means : means;
}

/** T's_g (2.7 of the formulas): scores of the cluster's rows about the centres. */
function scaledScore(fit: LeastSquares, { count, means, products }: Moments, level: Level): Float64Array {
  const p = fit.predictors;
  const width = p + 1;
  const centres = centresOf(fit, means, level);
  const score = new Float64Array(p);
  for (let j = 0; j < p; j += 1) {
    let sum = products[j * width + p] as number;
    for (let k = 0; k < p; k += 1) sum -= (products[j * width + k] as number) * (fit.slopes[k] as number);
    score[j] = sum;
  }
  let residual = (means[p] as number) - (centres[p] as number);
  for (let k = 0; k < p; k += 1) {
    residual -= ((means[k] as number) - (centres[k] as number)) * (fit.slopes[k] as number);
  }
  const total = residual * count;
  for (let j = 0; j < p; j += 1) {
    score[j] = (score[j] as number) + ((means[j] as number) - (centres[j] as number)) * total;
  }
  const slopes = whiten(fit, score);
  return level === null ? slopes : Float64Array.of(total / Math.sqrt(level.count), ...slopes);
}

/** B_g = T'Q_g T, k x k. */
function scaledInformation(fit: LeastSquares, { count, means, products }: Moments, level: Level): Float64Array {
  const p = fit.predictors;
  const width = p + 1;
  const first = level === null ? 0 : 1;
  const size = p + first;
  const centres = centresOf(fit, means, level);
  const shifts = Float64Array.from(
    { length: p },
    (_, j) => ((means[j] as number) - (centres[j] as number)) / (fit.scales[j] as number),
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
  if (level !== null) {
    const edge = solveLower(fit.factor, shifts);
    matrix[0] = count / level.count;
    for (let j = 0; j < p; j += 1) {
      const value = ((edge[j] as number) * count) / Math.sqrt(level.count);
      matrix[j + 1] = value;
      matrix[(j + 1) * size] = value;
    }
  }
  return matrix;
}

/** Component of a vector along eigenvector k. */
export function column({ size, vectors }: SymmetricEigen, k: number, vector: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < size; j += 1) sum += (vectors[j * size + k] as number) * (vector[j] as number);
  return sum;
}

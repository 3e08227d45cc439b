/**
 * Slopes corrected for measurement error of the predictors, by moments (Fuller 1987, Measurement Error Models, 2.2;
 * Carroll, Ruppert, Stefanski & Crainiceanu 2006).
 *
 * Observed rows are true rows plus errors with known covariance; U_g is their mean covariance in group g over (x, y), so
 * that errors which x's share with each other and with y all count. With nu_g the degrees of freedom of the group's
 * cross-products S_g (n_g - 1 within groups, n_g (N - 1) / N pooled, n_g through the origin):
 *   A = S_xx - sum nu_g U_xx,g,   b = A^-1 (S_xy - sum nu_g U_xy,g).
 * Clusters are the groups: s_g = S_xy,g - S_xx,g b - nu_g (U_xy,g - U_xx,g b), V = A^-1 (sum s s') A^-1 G / (G - 1).
 * Without clusters (Fuller 1987, 2.2.23 for one group): V = A^-1 (S_xx s_vv + sum nu_g (U_xx b - U_xy)(...)') A^-1,
 * s_vv = (S_yy - 2 b'S_xy + b'S_xx b) / degrees of freedom.
 */
import type { LeastSquares } from './least-squares.ts';
import { productsAboutZero } from './least-squares.ts';
import type { Moments } from './moments.ts';
import { symmetricEigen } from './symmetric-eigen.ts';
import { matrixTimesVector, multiplySquare, symmetricInverse } from './symmetric-inverse.ts';

export interface CorrectedFit {
  readonly slopes: Float64Array;
  /** A^-1, p x p. */
  readonly inverse: Float64Array;
  /** p x p covariances of the slopes. */
  readonly clustered: Float64Array | null;
  readonly classical: Float64Array;
  /** G - 1. */
  readonly clusterDegrees: number;
  /** A_jj / S_jj of each predictor. */
  readonly reliabilities: Float64Array;
  /** Smallest eigenvalue of S^-1/2 A S^-1/2: the worst reliability of any combination of predictors. */
  readonly worstReliability: number;
}

export type CorrectedOutcome =
  | { readonly ok: true; readonly fit: CorrectedFit }
  /** The errors are as large as the spread: nothing can be corrected. */
  | { readonly ok: false; readonly reliabilities: Float64Array; readonly worstReliability: number };

/** @param errors for each group the mean error covariance of the columns, (p + 1) x (p + 1), response last */
export function errorsInVariables(
  fit: LeastSquares,
  groups: readonly Moments[],
  errors: readonly Float64Array[],
): CorrectedOutcome {
  const p = fit.predictors;
  const width = p + 1;
  const own = groups.map((moments) => productsOfGroup(fit, moments));
  const total = new Float64Array(width * width);
  const error = new Float64Array(width * width);
  const nus = groups.map((moments) => degreesOfGroup(fit, moments));
  groups.forEach((_, g) => {
    for (let at = 0; at < total.length; at += 1) {
      total[at] = (total[at] as number) + ((own[g] as Float64Array)[at] as number);
      error[at] = (error[at] as number) + (nus[g] as number) * ((errors[g] as Float64Array)[at] as number);
    }
  });
  const observed = leading(total, p);
  const corrected = leading(
    total.map((value, at) => value - (error[at] as number)),
    p,
  );
  const reliabilities = Float64Array.from(
    { length: p },
    (_, j) => (corrected[j * p + j] as number) / (observed[j * p + j] as number),
  );
  const worstReliability = smallestEigenvalue(observed, corrected, p);
  const solved = worstReliability > 0 ? symmetricInverse(corrected, p) : null;
  if (solved === null) return { ok: false, reliabilities, worstReliability };
  const right = Float64Array.from(
    { length: p },
    (_, j) => (total[j * width + p] as number) - (error[j * width + p] as number),
  );
  const slopes = matrixTimesVector(solved.inverse, right);
  // How the response departs from the slopes: (-b, 1) over the columns.
  const contrast = Float64Array.of(...slopes.map((value) => -value), 1);
  const scoreOf = (matrix: Float64Array) => matrixTimesVector(matrix, contrast).subarray(0, p);
  const meat = new Float64Array(p * p);
  const spread = new Float64Array(p * p);
  const whole = matrixTimesVector(total, contrast);
  let residual = 0;
  for (let j = 0; j < width; j += 1) residual += (whole[j] as number) * (contrast[j] as number);
  residual /= fit.degreesOfFreedom;
  let clusters = 0;
  groups.forEach((moments, g) => {
    if (moments.count === 0 || nus[g] === 0) return;
    clusters += 1;
    const observedScore = scoreOf(own[g] as Float64Array);
    const errorScore = scoreOf(errors[g] as Float64Array);
    addOuter(
      meat,
      observedScore.map((value, j) => value - (nus[g] as number) * (errorScore[j] as number)),
      1,
    );
    addOuter(spread, errorScore, nus[g] as number);
  });
  for (let at = 0; at < p * p; at += 1) spread[at] = (spread[at] as number) + (observed[at] as number) * residual;
  const sandwich = (middle: Float64Array) =>
    multiplySquare(multiplySquare(solved.inverse, middle, p), solved.inverse, p);
  return {
    ok: true,
    fit: {
      slopes,
      inverse: solved.inverse,
      clustered: clusters > 1 ? sandwich(meat.map((value) => (value * clusters) / (clusters - 1))) : null,
      classical: sandwich(spread),
      clusterDegrees: clusters - 1,
      reliabilities,
      worstReliability,
    },
  };
}

/** Cross-products of a group as the model takes them: about its own means, about the overall ones, or about zero. */
function productsOfGroup(fit: LeastSquares, moments: Moments): Float64Array {
  if (fit.model === 'within') return moments.products;
  const shifted = moments.means.map((mean, j) => mean - (fit.means[j] as number));
  return productsAboutZero({ count: moments.count, means: shifted, products: moments.products });
}

function degreesOfGroup(fit: LeastSquares, { count }: Moments): number {
  if (fit.model === 'within') return Math.max(0, count - 1);
  return fit.model === 'pooled' ? (count * (fit.count - 1)) / fit.count : count;
}

/** Of S^-1/2 A S^-1/2, from the inverse root of S through its own eigenvectors on the correlation scale. */
function smallestEigenvalue(observed: Float64Array, corrected: Float64Array, p: number): number {
  const scale = (at: number) => {
    const [row, column] = [Math.floor(at / p), at % p];
    return Math.sqrt((observed[row * p + row] as number) * (observed[column * p + column] as number));
  };
  const correlation = observed.map((value, at) => value / scale(at));
  const { values, vectors } = symmetricEigen(correlation, p);
  const root = new Float64Array(p * p);
  for (let i = 0; i < p; i += 1) {
    for (let j = 0; j < p; j += 1) {
      let sum = 0;
      for (let k = 0; k < p; k += 1) {
        sum += ((vectors[i * p + k] as number) * (vectors[j * p + k] as number)) / Math.sqrt(values[k] as number);
      }
      root[i * p + j] = sum;
    }
  }
  const scaled = corrected.map((value, at) => value / scale(at));
  return Math.min(...symmetricEigen(multiplySquare(multiplySquare(root, scaled, p), root, p), p).values);
}

function leading(matrix: Float64Array, p: number): Float64Array {
  return Float64Array.from({ length: p * p }, (_, at) => matrix[Math.floor(at / p) * (p + 1) + (at % p)] as number);
}

function addOuter(matrix: Float64Array, vector: Float64Array, factor: number): void {
  const size = vector.length;
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1) {
      matrix[i * size + j] = (matrix[i * size + j] as number) + factor * (vector[i] as number) * (vector[j] as number);
    }
  }
}

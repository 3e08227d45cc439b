/**
 * Least squares from moments (statistics of the groups, see moments.ts).
 *
 * Model, row i of group g:  y = a + x'b + e (`pooled`)  or  y = a_g + x'b + e (`within`: one intercept a group, absorbed
 * by centring each group; Frisch & Waugh 1933)  or  y = x'b + e (`throughOrigin`; S is then about zero). Columns are x_1..x_p, then y. With S the centred cross-products
 * (pooled: of all rows together; within: summed over groups), D = sqrt(diag S_xx) and R = D^-1 S_xx D^-1 = C C',
 * everything is solved on the correlation scale: b = D^-1 R^-1 D^-1 S_xy.
 */
import {
  type CholeskyFactor,
  cholesky,
  inverseDiagonal,
  poorPivot,
  refusedPivot,
  solveLower,
  solveUpper,
  squaredLength,
} from './cholesky.ts';
import { type Moments, mergeMoments } from './moments.ts';

export type LeastSquaresModel = 'pooled' | 'within' | 'throughOrigin';

export interface LeastSquares {
  readonly model: LeastSquaresModel;
  /** Rows, groups with rows, predictors p. */
  readonly count: number;
  readonly groups: number;
  readonly predictors: number;
  /** count - p - 1, count - p - groups within groups, or count - p through the origin. */
  readonly degreesOfFreedom: number;
  /** Means of x and y over all rows (p + 1); zeros through the origin. */
  readonly means: Float64Array;
  /** D: square roots of the sums of squares of the predictors. */
  readonly scales: Float64Array;
  /** Factor of the correlation matrix of the predictors. */
  readonly factor: CholeskyFactor;
  /** 1 / (1 - R_j^2) of each predictor on the others. */
  readonly varianceInflation: Float64Array;
  /** True when a predictor keeps less than 1e-4 of its variance beside the others. */
  readonly poorlyConditioned: boolean;
  /** b, in units of the columns. */
  readonly slopes: Float64Array;
  readonly totalSumOfSquares: number;
  readonly residualSumOfSquares: number;
  /** Residual sum of squares over degrees of freedom. */
  readonly residualVariance: number;
}

export type LeastSquaresOutcome =
  | { readonly ok: true; readonly fit: LeastSquares }
  | { readonly ok: false; readonly reason: 'tooFewRows'; readonly needed: number }
  | { readonly ok: false; readonly reason: 'constantResponse' }
  | { readonly ok: false; readonly reason: 'constantPredictor'; readonly predictor: number }
  | {
      readonly ok: false;
      readonly reason: 'collinear';
      readonly predictor: number;
      /** Predictors of which it is a linear combination. */
      readonly others: readonly number[];
    };

/** A linear function of the parameters: intercept * (fitted value at the means) + slopes' b. */
export interface Contrast {
  /** Weight of the fitted value at the overall means; 0 within groups. */
  readonly atMeans: number;
  readonly slopes: Float64Array;
}

/**
 * Spread below which a column counts as constant, per row and relative to a column of size about 1: what rounding
 * leaves of a constant.
 */
const roundingSpread = 1e-26;

/**
 * Fits one model to the moments of all groups.
 * @param groups moments of p + 1 columns, the response last; predictor columns of size about 1
 */
export function leastSquares(groups: readonly Moments[], model: LeastSquaresModel): LeastSquaresOutcome {
  const width = (groups[0] as Moments).means.length;
  return leastSquaresOfSums(
    {
      all: mergeMoments(width, groups),
      occupied: groups.filter(({ count }) => count > 0).length,
      within: summedProducts(groups, width),
    },
    model,
  );
}

/** What a fit needs of its groups. */
export interface GroupSums {
  /** Of all rows together. */
  readonly all: Moments;
  /** Groups with rows. */
  readonly occupied: number;
  /** Sum of the cross-products about the means of each group. */
  readonly within: Float64Array;
}

/** The same from sums over the groups. */
export function leastSquaresOfSums(sums: GroupSums, model: LeastSquaresModel): LeastSquaresOutcome {
  const { all, occupied } = sums;
  const width = all.means.length;
  const predictors = width - 1;
  const intercepts = interceptsOf(model, occupied);
  const degreesOfFreedom = all.count - predictors - intercepts;
  if (degreesOfFreedom < 1) return { ok: false, reason: 'tooFewRows', needed: predictors + intercepts + 1 };

  const products = productsOf(model, sums);
  const scales = new Float64Array(predictors);
  for (let j = 0; j < predictors; j += 1) {
    const spread = products[j * width + j] as number;
    if (!(spread > roundingSpread * all.count)) return { ok: false, reason: 'constantPredictor', predictor: j };
    scales[j] = Math.sqrt(spread);
  }
  const total = products[width * width - 1] as number;
  if (!(total > 0)) return { ok: false, reason: 'constantResponse' };

  const correlations = new Float64Array(predictors * predictors);
  const responses = new Float64Array(predictors);
  const responseScale = Math.sqrt(total);
  for (let j = 0; j < predictors; j += 1) {
    for (let k = 0; k < predictors; k += 1) {
      const product = products[j * width + k] as number;
      correlations[j * predictors + k] = j === k ? 1 : product / (scales[j] as number) / (scales[k] as number);
    }
    responses[j] = (products[j * width + predictors] as number) / (scales[j] as number) / responseScale;
  }
  const factored = cholesky(correlations, predictors);
  if (!factored.ok) return collinear(correlations, predictors, factored.row);
  const { factor } = factored;
  const varianceInflation = inverseDiagonal(factor);
  // Without predictors there is nothing that could be collinear.
  const inflation = Math.max(1, ...varianceInflation);
  if (inflation * refusedPivot > 1) return collinear(correlations, predictors, varianceInflation.indexOf(inflation));

  // The last row of the factor of the augmented matrix; what is left of its pivot is 1 - R^2.
  const projected = solveLower(factor, responses);
  const unexplained = Math.max(0, 1 - squaredLength(projected));
  const standardised = solveUpper(factor, projected);
  const slopes = standardised.map((value, j) => (value / (scales[j] as number)) * responseScale);
  return {
    ok: true,
    fit: {
      model,
      count: all.count,
      groups: occupied,
      predictors,
      degreesOfFreedom,
      means: model === 'throughOrigin' ? new Float64Array(width) : all.means,
      scales,
      factor,
      varianceInflation,
      poorlyConditioned: inflation * poorPivot > 1,
      slopes,
      totalSumOfSquares: total,
      residualSumOfSquares: unexplained * total,
      residualVariance: (unexplained * total) / degreesOfFreedom,
    },
  };
}

/** Variance of a contrast under independent errors of equal variance: s^2 (atMeans^2 / n + c' S_xx^-1 c). */
export function classicalVariance(fit: LeastSquares, contrast: Contrast): number {
  const scaled = contrast.slopes.map((value, j) => value / (fit.scales[j] as number));
  const spread = squaredLength(solveLower(fit.factor, scaled));
  return fit.residualVariance * ((contrast.atMeans * contrast.atMeans) / fit.count + spread);
}

function interceptsOf(model: LeastSquaresModel, groups: number): number {
  if (model === 'throughOrigin') return 0;
  return model === 'within' ? groups : 1;
}

/** Cross-products about the group means, about the overall means, or about zero. */
function productsOf(model: LeastSquaresModel, { all, within }: GroupSums): Float64Array {
  if (model === 'within') return within;
  return model === 'pooled' ? all.products : productsAboutZero(all);
}

/** S + n m m'. */
export function productsAboutZero({ count, means, products }: Moments): Float64Array {
  const width = means.length;
  return products.map(
    (value, at) => value + count * (means[Math.floor(at / width)] as number) * (means[at % width] as number),
  );
}

function summedProducts(groups: readonly Moments[], width: number): Float64Array {
  const sum = new Float64Array(width * width);
  for (const { products } of groups) {
    for (let at = 0; at < sum.length; at += 1) sum[at] = (sum[at] as number) + (products[at] as number);
  }
  return sum;
}

/** Names the predictors whose share in the combination is not mere rounding. */
function collinear(correlations: Float64Array, size: number, predictor: number): LeastSquaresOutcome {
  const others: number[] = [];
  const candidates = Array.from({ length: size }, (_, j) => j).filter((j) => j !== predictor);
  // Taking the others in one by one, as far as they are independent, shows which of them the combination needs.
  const independent: number[] = [];
  for (const candidate of candidates) {
    if (cholesky(restrict(correlations, size, [...independent, candidate]), independent.length + 1).ok) {
      independent.push(candidate);
    }
  }
  const factored = cholesky(restrict(correlations, size, independent), independent.length);
  if (factored.ok) {
    const right = Float64Array.from(independent, (j) => correlations[j * size + predictor] as number);
    const weights = solveUpper(factored.factor, solveLower(factored.factor, right));
    independent.forEach((j, place) => {
      if (Math.abs(weights[place] as number) > 1e-3) others.push(j);
    });
  }
  return { ok: false, reason: 'collinear', predictor, others };
}

function restrict(matrix: Float64Array, size: number, kept: readonly number[]): Float64Array {
  return Float64Array.from(kept.flatMap((j) => kept.map((k) => matrix[j * size + k] as number)));
}

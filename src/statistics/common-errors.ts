/**
 * How far an error that some rows share moves the estimates.
 *
 * For least squares A b = X'y (rows centred on c), an error that changes the columns of some rows by dX and their response
 * by dy moves the slopes by A db = X'd + dX'r, with d = dy - dX b and the residuals r = y - X b: the derivative of the
 * normal equations. dX and dy are linear in the columns (basis-derivative.ts), so the sums are those of the moments of the
 * rows. The variance that the shared error adds to a contrast is the square of its movement times that of the error; such
 * variances add over independent errors, and do not fall with the number of rows (JCGM 100:2008, 5.2, from memory).
 */
import type { Perturbation } from './basis-derivative.ts';
import { solveLower, solveUpper } from './cholesky.ts';
import type { Contrast, LeastSquares } from './least-squares.ts';
import type { MixedModel } from './mixed-model.ts';
import type { Moments } from './moments.ts';
import { matrixTimesVector } from './symmetric-inverse.ts';

/** Movement of the fitted value at the means and of the slopes, for an error of size 1. */
export interface Movement {
  readonly atMeans: number;
  readonly slopes: Float64Array;
}

/** Movement of a contrast. */
export function movementOf(movement: Movement, contrast: Contrast): number {
  let sum = contrast.atMeans * movement.atMeans;
  for (let j = 0; j < movement.slopes.length; j += 1) {
    sum += (contrast.slopes[j] as number) * (movement.slopes[j] as number);
  }
  return sum;
}

/**
 * Of a least-squares fit.
 * @param level moments of the group to which the rows belong
 * @param rows moments of the rows that share the error
 */
export function leastSquaresMovement(
  fit: LeastSquares,
  level: Moments,
  rows: Moments,
  perturbation: Perturbation,
): Movement {
  const solve = (right: Float64Array) => {
    const scaled = right.map((value, j) => value / (fit.scales[j] as number));
    return solveUpper(fit.factor, solveLower(fit.factor, scaled)).map((value, j) => value / (fit.scales[j] as number));
  };
  const { slopes, total } = normalEquations(fit.slopes, centresOf(fit, level), rows, perturbation);
  return { atMeans: fit.model === 'pooled' ? total / fit.count : 0, slopes: solve(slopes) };
}

/** The same for slopes that solve other normal equations of the same rows, such as those corrected for measurement error. */
export function correctedMovement(
  fit: LeastSquares,
  corrected: { readonly slopes: Float64Array; readonly inverse: Float64Array },
  level: Moments,
  rows: Moments,
  perturbation: Perturbation,
): Movement {
  const { slopes } = normalEquations(corrected.slopes, centresOf(fit, level), rows, perturbation);
  return { atMeans: 0, slopes: matrixTimesVector(corrected.inverse, slopes) };
}

/**
 * The same for a random-intercept model at its variances: rows are centred on their lab only as far as the lab's level is
 * known, by lambda = 1 - (weight of the lab's constant in V^-1). With sessions lambda is that of the lab as a whole.
 * @param block place of the lab among those with shots
 */
export function mixedMovement(
  model: MixedModel,
  block: number,
  level: Moments,
  rows: Moments,
  perturbation: Perturbation,
): Movement {
  const { blocks, fit, means, slopes, shiftAtMeans } = model;
  const p = slopes.length;
  const lambda = levelShare(model, block);
  const centres = Float64Array.from({ length: p + 1 }, (_, j) => {
    const overall = (means[j] as number) + (j === p ? shiftAtMeans : 0);
    return overall + lambda * ((level.means[j] as number) - overall);
  });
  const right = normalEquations(slopes, centres, rows, perturbation);
  const responseScale = blocks.scales[p] as number;
  const residual = fit.components[0] as number;
  const scaled = Float64Array.of(
    ((1 - lambda) * right.total) / responseScale / residual,
    ...right.slopes.map((value, j) => value / (blocks.scales[j] as number) / responseScale / residual),
  );
  const moved = matrixTimesVector(fit.at.covariance, scaled);
  return {
    atMeans: (moved[0] as number) * responseScale,
    slopes: Float64Array.from(
      { length: p },
      (_, j) => ((moved[j + 1] as number) * responseScale) / (blocks.scales[j] as number),
    ),
  };
}

/** How much of a lab's level is its own: 1 when it is left free, 0 when it is known to be that of all. */
function levelShare({ blocks, fit }: MixedModel, block: number): number {
  const [residual, cell, shared] = [fit.components[0] as number, fit.components[1] as number, fit.components[2] ?? 0];
  const counts = blocks.labs[block]?.counts ?? new Float64Array(0);
  let total = 0;
  let weight = 0;
  for (const count of counts) {
    total += count;
    weight += count / (residual + cell * count);
  }
  return total > 0 ? 1 - ((weight / (1 + shared * weight)) * residual) / total : 1;
}

function centresOf(fit: LeastSquares, level: Moments): Float64Array {
  return fit.model === 'within' ? level.means : fit.means;
}

/** X'd + dX'r over the rows, and the sum of d. */
function normalEquations(
  b: Float64Array,
  centres: Float64Array,
  { count, means, products }: Moments,
  { constants, matrix, response }: Perturbation,
): { readonly slopes: Float64Array; readonly total: number } {
  const p = b.length;
  const width = p + 1;
  // d = constant + weights'(x, y), and r = (-b, 1)'((x, y) - centres).
  let constant = response.constant;
  const weights = new Float64Array(width);
  weights[p] = response.slope;
  const residual = Float64Array.of(...b.map((value) => -value), 1);
  for (let t = 0; t < p; t += 1) {
    constant -= (b[t] as number) * (constants[t] as number);
    for (let s = 0; s < p; s += 1) {
      weights[s] = (weights[s] as number) - (b[t] as number) * (matrix[t * p + s] as number);
    }
  }
  let meanChange = constant;
  let meanResidual = 0;
  for (let j = 0; j < width; j += 1) {
    meanChange += (weights[j] as number) * (means[j] as number);
    meanResidual += (residual[j] as number) * ((means[j] as number) - (centres[j] as number));
  }
  const byChange = matrixTimesVector(products, weights);
  const byResidual = matrixTimesVector(products, residual);
  const slopes = new Float64Array(p);
  for (let t = 0; t < p; t += 1) {
    let meanColumn = constants[t] as number;
    let moved = (byChange[t] as number) + count * ((means[t] as number) - (centres[t] as number)) * meanChange;
    for (let s = 0; s < p; s += 1) {
      const factor = matrix[t * p + s] as number;
      moved += factor * (byResidual[s] as number);
      meanColumn += factor * (means[s] as number);
    }
    slopes[t] = moved + count * meanColumn * meanResidual;
  }
  return { slopes, total: count * meanChange };
}

/**
 * Random intercepts of labs, or of labs and their sessions, by restricted maximum likelihood from moments: estimates,
 * variances with profile intervals, and contrasts with the standard errors and degrees of freedom of
 * Kenward & Roger 1997 (Biometrics 53:983; Halekoh & Hojsgaard 2014, J. Stat. Softw. 59(9)).
 */
import { chiSquareQuantile } from './distributions.ts';
import { bracketAbove, findRoot } from './find-root.ts';
import type { Contrast } from './least-squares.ts';
import { type MixedBlocks, mixedBlocks } from './mixed-blocks.ts';
import type { Moments } from './moments.ts';
import { bilinear, matrixTimesVector, multiplySquare, symmetricInverse } from './symmetric-inverse.ts';
import { improve, type VarianceComponents, varianceComponents } from './variance-components.ts';

export interface VarianceEstimate {
  readonly name: 'residual' | 'session' | 'lab';
  /** Variance in units of the response squared. */
  readonly variance: number;
}

export interface MixedModel {
  readonly blocks: MixedBlocks;
  readonly fit: VarianceComponents;
  /** -2 log restricted likelihood in units of the columns. */
  readonly criterion: number;
  readonly converged: boolean;
  readonly variances: readonly VarianceEstimate[];
  /** Means of the columns, about which `Contrast.atMeans` is meant. */
  readonly means: Float64Array;
  /** Slopes b in units of the columns, and the fitted value at the means less the mean of the response. */
  readonly slopes: Float64Array;
  readonly shiftAtMeans: number;
  /** Scaled covariance after Kenward & Roger, k x k, for (1, x). */
  readonly adjusted: Float64Array;
}

/** Estimate of a contrast, less the mean of the response when `atMeans` is 1. */
export interface MixedContrast {
  readonly estimate: number;
  readonly variance: number;
  readonly degreesOfFreedom: number;
}

/**
 * @param labs moments of the cells of each lab: one cell a lab (nested false), or one a session (nested true)
 * @returns null when the model cannot be fitted
 */
export function mixedModel(labs: readonly (readonly Moments[])[], nested: boolean): MixedModel | null {
  const blocks = mixedBlocks(labs, nested);
  if (blocks.count - (blocks.width - 1) < 2) return null;
  const fit = varianceComponents(blocks);
  if (fit === null) return null;
  const responseScale = blocks.scales[blocks.width - 2] as number;
  const squared = responseScale * responseScale;
  const names = nested ? (['residual', 'session', 'lab'] as const) : (['residual', 'lab'] as const);
  const { coefficients } = fit.at;
  return {
    blocks,
    fit,
    criterion: fit.at.criterion,
    converged: fit.converged,
    variances: names.map((name, i) => ({ name, variance: (fit.components[i] as number) * squared })),
    means: blocks.centres,
    slopes: Float64Array.from(
      coefficients.subarray(1),
      (value, j) => (value * responseScale) / (blocks.scales[j] as number),
    ),
    shiftAtMeans: (coefficients[0] as number) * responseScale,
    adjusted: adjustedCovariance(fit),
  };
}

/** Phi + 2 Phi (sum W_ij (Q_ij - P_i Phi P_j)) Phi, W the inverse of the information. */
function adjustedCovariance({ at }: VarianceComponents): Float64Array {
  const { covariance: phi, first, second, information } = at;
  const count = first.length;
  const k = Math.round(Math.sqrt(phi.length));
  const weights = symmetricInverse(information, count)?.inverse;
  if (weights === undefined) return phi;
  const inner = new Float64Array(k * k);
  for (let i = 0; i < count; i += 1) {
    for (let j = 0; j < count; j += 1) {
      const weight = weights[i * count + j] as number;
      const crossed = multiplySquare(multiplySquare(first[i] as Float64Array, phi, k), first[j] as Float64Array, k);
      const own = (second[i] as readonly Float64Array[])[j] as Float64Array;
      for (let place = 0; place < k * k; place += 1) {
        inner[place] = (inner[place] as number) + weight * ((own[place] as number) - (crossed[place] as number));
      }
    }
  }
  const change = multiplySquare(multiplySquare(phi, inner, k), phi, k);
  return phi.map(
    (value, place) => value + (change[place] as number) + (change[(place % k) * k + Math.floor(place / k)] as number),
  );
}

/** The contrast in scaled coordinates of (1, x). */
function scaledContrast({ blocks }: MixedModel, contrast: Contrast): Float64Array {
  const responseScale = blocks.scales[blocks.width - 2] as number;
  return Float64Array.of(
    contrast.atMeans * responseScale,
    ...contrast.slopes.map((value, j) => (value * responseScale) / (blocks.scales[j] as number)),
  );
}

/** Estimate, adjusted variance and degrees of freedom of a linear function of the coefficients. */
export function mixedContrast(model: MixedModel, contrast: Contrast): MixedContrast {
  const c = scaledContrast(model, contrast);
  const { covariance: phi, first, information, coefficients } = model.fit.at;
  let estimate = 0;
  for (let j = 0; j < c.length; j += 1) estimate += (c[j] as number) * (coefficients[j] as number);
  const plain = bilinear(c, phi, c);
  const projected = matrixTimesVector(phi, c);
  const gradient = Float64Array.from(first, (matrix) => bilinear(projected, matrix, projected));
  const weights = symmetricInverse(information, first.length)?.inverse;
  const spread = weights === undefined ? Number.NaN : bilinear(gradient, weights, gradient);
  return {
    estimate,
    variance: bilinear(c, model.adjusted, c),
    degreesOfFreedom: (2 * plain * plain) / spread,
  };
}

/** Relative accuracy of the ends of an interval, and of the other variances on the way: the profile is flat in those. */
const intervalAccuracy = 1e-9;
const profileAccuracy = 1e-7;

/**
 * Interval of one variance by the profile of the restricted likelihood: all values whose criterion, the other
 * variances at their best, exceeds the smallest by at most the chi-square quantile with one degree of freedom.
 * The upper end is null when the data set none.
 */
export function varianceInterval(
  model: MixedModel,
  which: number,
  confidence: number,
): { readonly lower: number; readonly upper: number | null } {
  const { blocks, fit } = model;
  const responseScale = blocks.scales[blocks.width - 2] as number;
  const squared = responseScale * responseScale;
  const found = fit.components[which] as number;
  const allowed = fit.at.criterion + chiSquareQuantile(confidence, 1);
  const free = fit.components.map((_, i) => i !== which);
  const excess = (value: number): number => {
    const start = fit.components.map((component, i) => (i === which ? value : component));
    if (which === 0 && !(value > 0)) return Number.POSITIVE_INFINITY;
    const profiled = improve(blocks, start, free, profileAccuracy);
    return profiled === null ? Number.POSITIVE_INFINITY : profiled.at.criterion - allowed;
  };
  const floor = which === 0 ? found * 1e-6 : 0;
  const lower = excess(floor) <= 0 ? floor : findRoot((value) => -excess(value), floor, found, intervalAccuracy);
  const end = bracketAbove(excess, found > 0 ? found * 2 : 1e-4);
  return {
    lower: lower * squared,
    upper: end === null ? null : findRoot(excess, found, end, intervalAccuracy) * squared,
  };
}

/** Best linear unbiased predictions of the lab intercepts; one a lab with shots, random intercept of labs only. */
export function labPredictions({ blocks, fit }: MixedModel): number[] {
  const { width } = blocks;
  const responseScale = blocks.scales[width - 2] as number;
  const [residual, cell] = [fit.components[0] as number, fit.components[1] as number];
  return blocks.labs.map(({ counts, roots, means }) => {
    let rest = means[width - 1] as number;
    for (let j = 0; j < width - 1; j += 1) rest -= (means[j] as number) * (fit.at.coefficients[j] as number);
    const mean = rest / (roots[0] as number);
    return ((mean * cell * (counts[0] as number)) / (residual + cell * (counts[0] as number))) * responseScale;
  });
}

/**
 * Restricted likelihood of a random-intercept model at given variances, its slope and its expected curvature
 * (Patterson & Thompson 1971, Biometrika 58:545; Harville 1977, JASA 72:320), from the blocks of mixed-blocks.ts.
 *
 * criterion = -2 log likelihood = (N - k) ln 2 pi + ln|V| + ln|X'V^-1 X| + r'V^-1 r;
 * score_i = (r'V^-1 G_i V^-1 r - tr(V^-1 G_i) - tr(Phi P_i)) / 2,  G_i = dV/d(variance i), Phi = (X'V^-1 X)^-1,
 * P_i = -X'V^-1 G_i V^-1 X;  information_ij = (tr(V^-1G_iV^-1G_j) - 2 tr(Phi Q_ij) + tr(Phi P_i Phi P_j)) / 2,
 * Q_ij = X'V^-1 G_i V^-1 G_j V^-1 X. These P and Q are those of Kenward & Roger 1997.
 */
import ln from '@stdlib/math-base-special-ln';
import {
  applyDerivative,
  applyInverse,
  type Components,
  labInverse,
  labTraces,
  type MixedBlocks,
} from './mixed-blocks.ts';
import { bilinear, matrixTimesVector, multiplySquare, symmetricInverse, traceOfProduct } from './symmetric-inverse.ts';

const logTwoPi = 1.8378770664093456;

export interface RestrictedFit {
  /** In the units of the columns as given, not of the scaled ones. */
  readonly criterion: number;
  /** Scaled: k coefficients of (1, x), and their covariance Phi (k x k). */
  readonly coefficients: Float64Array;
  readonly covariance: Float64Array;
}

export interface RestrictedSlope extends RestrictedFit {
  readonly score: Float64Array;
  /** m x m, expected. */
  readonly information: Float64Array;
  readonly first: readonly Float64Array[];
  /** m x m matrices Q_ij, k x k each. */
  readonly second: readonly (readonly Float64Array[])[];
}

/** Criterion and coefficients at the given variances (of the scaled response); null when V or X'V^-1X is singular. */
export function restrictedFit(blocks: MixedBlocks, components: Components): RestrictedFit | null {
  const { width } = blocks;
  const k = width - 1;
  const residual = components[0] as number;
  if (!(residual > 0)) return null;
  const total = blocks.within.map((value) => value / residual);
  let logDeterminant = (blocks.count - blocks.cells) * ln(residual);
  for (const block of blocks.labs) {
    const inverse = labInverse(block, components);
    for (const part of inverse.logDeterminantParts) logDeterminant -= ln(part);
    addProduct(total, block.means, applyInverse(inverse, block.means, width), width);
  }
  const solved = symmetricInverse(leading(total, width, k), k);
  if (solved === null) return null;
  const right = Float64Array.from({ length: k }, (_, j) => total[j * width + k] as number);
  const coefficients = matrixTimesVector(solved.inverse, right);
  const contrast = Float64Array.of(...coefficients.map((value) => -value), 1);
  const residualForm = bilinear(contrast, total, contrast);
  let logScales = 2 * (blocks.count - k) * ln(blocks.scales[k - 1] as number);
  for (let j = 0; j < k - 1; j += 1) logScales += 2 * ln(blocks.scales[j] as number);
  const criterion = (blocks.count - k) * logTwoPi + logDeterminant + solved.logDeterminant + residualForm + logScales;
  return { criterion, coefficients, covariance: solved.inverse };
}

/** The same with slope, curvature and the matrices of Kenward & Roger. */
export function restrictedSlope(blocks: MixedBlocks, components: Components): RestrictedSlope | null {
  const fit = restrictedFit(blocks, components);
  if (fit === null) return null;
  const { width } = blocks;
  const k = width - 1;
  const count = components.length;
  const residual = components[0] as number;
  const squares = residual * residual;
  const full = components.map(() => new Float64Array(width * width));
  const second = components.map(() => components.map(() => new Float64Array(width * width)));
  const traces = new Float64Array(count);
  const pairs = new Float64Array(count * count);
  // Within cells V is residual I, and only the first variance moves it.
  for (let at = 0; at < width * width; at += 1) {
    (full[0] as Float64Array)[at] = (blocks.within[at] as number) / squares;
    ((second[0] as Float64Array[])[0] as Float64Array)[at] = (blocks.within[at] as number) / squares / residual;
  }
  traces[0] = (blocks.count - blocks.cells) / residual;
  pairs[0] = (blocks.count - blocks.cells) / squares;
  for (const block of blocks.labs) {
    const inverse = labInverse(block, components);
    const solved = applyInverse(inverse, block.means, width);
    const moved = components.map((_, i) => applyDerivative(block, i, solved, width));
    const again = moved.map((rows) => applyInverse(inverse, rows, width));
    for (let i = 0; i < count; i += 1) {
      addProduct(full[i] as Float64Array, solved, moved[i] as Float64Array, width);
      traces[i] = (traces[i] as number) + labTraces(block, inverse, i, null);
      for (let j = 0; j < count; j += 1) {
        addProduct(
          (second[i] as Float64Array[])[j] as Float64Array,
          moved[i] as Float64Array,
          again[j] as Float64Array,
          width,
        );
        pairs[i * count + j] = (pairs[i * count + j] as number) + labTraces(block, inverse, i, j);
      }
    }
  }
  const contrast = Float64Array.of(...fit.coefficients.map((value) => -value), 1);
  const first = full.map((matrix) => leading(matrix, width, k).map((value) => -value));
  const products = first.map((matrix) => multiplySquare(fit.covariance, matrix, k));
  const score = Float64Array.from({ length: count }, (_, i) => {
    const own = products[i] as Float64Array;
    let trace = 0;
    for (let j = 0; j < k; j += 1) trace += own[j * k + j] as number;
    return (bilinear(contrast, full[i] as Float64Array, contrast) - (traces[i] as number) - trace) / 2;
  });
  const reduced = second.map((row) => row.map((matrix) => leading(matrix, width, k)));
  const information = new Float64Array(count * count);
  for (let i = 0; i < count; i += 1) {
    for (let j = 0; j < count; j += 1) {
      const quadratic = traceOfProduct(fit.covariance, (reduced[i] as Float64Array[])[j] as Float64Array, k);
      const crossed = traceOfProduct(products[i] as Float64Array, products[j] as Float64Array, k);
      information[i * count + j] = ((pairs[i * count + j] as number) - 2 * quadratic + crossed) / 2;
    }
  }
  return { ...fit, score, information, first, second: reduced };
}

/** total += left' right, both cells x width. */
function addProduct(total: Float64Array, left: Float64Array, right: Float64Array, width: number): void {
  const cells = left.length / width;
  for (let at = 0; at < cells; at += 1) {
    for (let j = 0; j < width; j += 1) {
      const value = left[at * width + j] as number;
      for (let l = 0; l < width; l += 1) {
        total[j * width + l] = (total[j * width + l] as number) + value * (right[at * width + l] as number);
      }
    }
  }
}

/** The first k rows and columns. */
function leading(matrix: Float64Array, width: number, k: number): Float64Array {
  return Float64Array.from({ length: k * k }, (_, at) => matrix[Math.floor(at / k) * width + (at % k)] as number);
}

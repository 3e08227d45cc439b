/**
 * The pieces of a random-intercept model that moments hold (see moments.ts).
 *
 * Model, row i of session s of lab l:  y = x~'beta + u_l + v_s + e,  x~ = (1, x),  e ~ N(0, residual),
 * v_s ~ N(0, session), u_l ~ N(0, lab). With sessions left out every lab is one cell.
 *
 * V of a lab has two parts. Within cells it is residual * (I - J). On the normed cell means z_s = sqrt(n_s) (1, x_s, y_s)
 * it is residual I + cell diag(n_s) + shared r r', r_s = sqrt(n_s), with inverse diag(a) - c w w', a = 1/(residual +
 * cell n_s), w_s = a_s r_s, c = shared / (1 + shared r'w): everything below is sums over cells (Bates, Maechler, Bolker &
 * Walker 2015, J. Stat. Softw. 67(1), give the same model; the reduction to cell means is derived here).
 */
import { type Moments, mergeMoments } from './moments.ts';

/** Cells of one lab, ready for the sums. */
export interface LabBlock {
  readonly cells: number;
  readonly counts: Float64Array;
  /** Square roots of the counts. */
  readonly roots: Float64Array;
  /** cells x (p + 2), row by row: sqrt(n) * (1, x, y), centred and scaled. */
  readonly means: Float64Array;
}

export interface MixedBlocks {
  readonly count: number;
  readonly labs: readonly LabBlock[];
  readonly cells: number;
  /** p + 2: constant, predictors, response. */
  readonly width: number;
  /** Cross-products within cells, width x width, the constant's row zero. */
  readonly within: Float64Array;
  /** Rows of the design: nested sessions or labs alone. */
  readonly nested: boolean;
  /** Overall means and root mean squares by which columns (x, y) were centred and scaled. */
  readonly centres: Float64Array;
  readonly scales: Float64Array;
}

/**
 * @param labs for each lab the moments of its cells: one cell (random intercept) or its sessions (nested);
 * the response is the last column
 */
export function mixedBlocks(labs: readonly (readonly Moments[])[], nested: boolean): MixedBlocks {
  const cells = labs.map((own) => own.filter(({ count }) => count > 0)).filter((own) => own.length > 0);
  const columns = ((labs[0] as readonly Moments[])[0] as Moments).means.length;
  const all = mergeMoments(columns, cells.flat());
  const centres = all.means;
  const scales = Float64Array.from({ length: columns }, (_, j) => {
    const spread = all.products[j * columns + j] as number;
    return spread > 0 ? Math.sqrt(spread / all.count) : 1;
  });
  const width = columns + 1;
  const within = new Float64Array(width * width);
  const blocks = cells.map((own): LabBlock => {
    const counts = Float64Array.from(own, ({ count }) => count);
    const roots = counts.map((count) => Math.sqrt(count));
    const means = new Float64Array(own.length * width);
    own.forEach((moments, cell) => {
      const root = roots[cell] as number;
      means[cell * width] = root;
      for (let j = 0; j < columns; j += 1) {
        const shift = (moments.means[j] as number) - (centres[j] as number);
        means[cell * width + j + 1] = (root * shift) / (scales[j] as number);
        for (let k = 0; k < columns; k += 1) {
          const at = (j + 1) * width + k + 1;
          const product = moments.products[j * columns + k] as number;
          within[at] = (within[at] as number) + product / (scales[j] as number) / (scales[k] as number);
        }
      }
    });
    return { cells: own.length, counts, roots, means };
  });
  const total = blocks.reduce((sum, block) => sum + block.cells, 0);
  return { count: all.count, labs: blocks, cells: total, width, within, nested, centres, scales };
}

/** Variances: residual, of cells (labs, or sessions when nested), and of labs when nested. */
export type Components = readonly number[];

/** a, w and c of the inverse of one lab's V, and its log determinant on the normed cell means. */
export interface LabInverse {
  readonly diagonal: Float64Array;
  readonly weights: Float64Array;
  readonly shrink: number;
  readonly logDeterminantParts: readonly number[];
}

export function labInverse(block: LabBlock, components: Components): LabInverse {
  const [residual, cell, shared] = [components[0] as number, components[1] as number, components[2] ?? 0];
  const diagonal = block.counts.map((count) => 1 / (residual + cell * count));
  const weights = diagonal.map((value, at) => value * (block.roots[at] as number));
  let total = 0;
  for (let at = 0; at < block.cells; at += 1) total += (block.roots[at] as number) * (weights[at] as number);
  const logDeterminantParts = [...diagonal, 1 / (1 + shared * total)];
  return { diagonal, weights, shrink: shared / (1 + shared * total), logDeterminantParts };
}

/** V^-1 times the rows of a cells x width array. */
export function applyInverse(inverse: LabInverse, rows: Float64Array, width: number): Float64Array {
  const { diagonal, weights, shrink } = inverse;
  const cells = diagonal.length;
  const result = new Float64Array(rows.length);
  for (let j = 0; j < width; j += 1) {
    let projected = 0;
    if (shrink !== 0) {
      for (let at = 0; at < cells; at += 1) projected += (weights[at] as number) * (rows[at * width + j] as number);
      projected *= shrink;
    }
    for (let at = 0; at < cells; at += 1) {
      result[at * width + j] =
        (diagonal[at] as number) * (rows[at * width + j] as number) - (weights[at] as number) * projected;
    }
  }
  return result;
}

/** Derivative of V by component `which`, times the rows: I, diag(n) or r r'. */
export function applyDerivative(block: LabBlock, which: number, rows: Float64Array, width: number): Float64Array {
  if (which === 0) return rows;
  const result = new Float64Array(rows.length);
  for (let j = 0; j < width; j += 1) {
    let projected = 0;
    if (which === 2) {
      for (let at = 0; at < block.cells; at += 1) {
        projected += (block.roots[at] as number) * (rows[at * width + j] as number);
      }
    }
    for (let at = 0; at < block.cells; at += 1) {
      result[at * width + j] =
        which === 1
          ? (block.counts[at] as number) * (rows[at * width + j] as number)
          : (block.roots[at] as number) * projected;
    }
  }
  return result;
}

/** tr(V^-1 G_i) and tr(V^-1 G_i V^-1 G_j) of one lab on its normed cell means. */
export function labTraces(block: LabBlock, inverse: LabInverse, i: number, j: number | null): number {
  const { diagonal, weights, shrink } = inverse;
  const entry = (which: number, at: number) => (which === 0 ? 1 : (block.counts[at] as number));
  const low = j === null ? i : Math.min(i, j);
  const high = j === null ? i : Math.max(i, j);
  const rank = high === 2 ? applyInverse(inverse, block.roots, 1) : null;
  let sum = 0;
  if (j === null) {
    if (rank !== null) return dot(block.roots, rank);
    for (let at = 0; at < block.cells; at += 1) {
      const w = weights[at] as number;
      sum += ((diagonal[at] as number) - shrink * w * w) * entry(i, at);
    }
    return sum;
  }
  if (rank !== null && low === 2) {
    const product = dot(block.roots, rank);
    return product * product;
  }
  if (rank !== null) {
    for (let at = 0; at < block.cells; at += 1) sum += entry(low, at) * (rank[at] as number) * (rank[at] as number);
    return sum;
  }
  let first = 0;
  let second = 0;
  for (let at = 0; at < block.cells; at += 1) {
    const a = diagonal[at] as number;
    const w = weights[at] as number;
    sum += a * (a - 2 * shrink * w * w) * entry(low, at) * entry(high, at);
    first += w * w * entry(low, at);
    second += w * w * entry(high, at);
  }
  return sum + shrink * shrink * first * second;
}

function dot(first: Float64Array, second: Float64Array): number {
  let sum = 0;
  for (let at = 0; at < first.length; at += 1) sum += (first[at] as number) * (second[at] as number);
  return sum;
}

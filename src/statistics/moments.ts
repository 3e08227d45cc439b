/**
 * Moments: count n, means m_j and centred cross-products S_jk = sum (z_j - m_j)(z_k - m_k) of the columns z_1..z_w.
 * They are all that least squares, lab fixed effects and cluster-robust errors need (see least-squares.ts).
 *
 * Rows are taken in chunks, each centred on its own means (two passes over a small buffer), and chunks are merged in
 * the order given by the pairwise update of Chan, Golub & LeVeque 1983 (Am. Stat. 37:242). The same rows in the same
 * chunks therefore give the same bits everywhere.
 */

export interface Moments {
  readonly count: number;
  /** w means. */
  readonly means: Float64Array;
  /** w x w, row by row, symmetric. */
  readonly products: Float64Array;
}

/** Most rows that one chunk may hold; chunks are cut by ordinal, see chunk-segments.ts. */
export const chunkSize = 8192;

/** Rows [from, to) of one chunk of one group; to - from <= chunkSize. */
export interface Segment {
  readonly group: number;
  readonly from: number;
  readonly to: number;
}

/** Fills block[j][0 .. to - from) with column j of rows [from, to). */
export type FillBlock = (block: readonly Float64Array[], from: number, to: number) => void;

/**
 * Moments of each group 0..groupCount-1. Segments of one group are merged in the order in which they stand.
 * Columns should already have a constant near their mean subtracted, so that no digits go to an offset.
 */
export function momentsByGroup(
  width: number,
  fill: FillBlock,
  segments: readonly Segment[],
  groupCount: number,
): Moments[] {
  const block = Array.from({ length: width }, () => new Float64Array(chunkSize));
  const groups = Array.from({ length: groupCount }, () => emptyMoments(width));
  for (const { group, from, to } of segments) {
    fill(block, from, to);
    const chunk = momentsOfBlock(block, to - from);
    groups[group] = mergeTwo(groups[group] as Moments, chunk);
  }
  return groups;
}

/** Moments of all parts together, merged from left to right. */
export function mergeMoments(width: number, parts: Iterable<Moments>): Moments {
  let merged = emptyMoments(width);
  for (const part of parts) merged = mergeTwo(merged, part);
  return merged;
}

export function emptyMoments(width: number): Moments {
  return { count: 0, means: new Float64Array(width), products: new Float64Array(width * width) };
}

/** Moments of the first `count` rows of a block of columns. Overwrites the block with the centred values. */
function momentsOfBlock(block: readonly Float64Array[], count: number): Moments {
  const width = block.length;
  const means = new Float64Array(width);
  const products = new Float64Array(width * width);
  if (count === 0) return { count, means, products };
  // The mean is rounded; the mean of what is left corrects it, so that S is free of n * (error of the mean)^2.
  const rests = new Float64Array(width);
  for (let j = 0; j < width; j += 1) {
    const column = block[j] as Float64Array;
    const mean = sumOf(column, count) / count;
    rests[j] = centre(column, mean, count) / count;
    means[j] = mean + (rests[j] as number);
  }
  productsOfBlock(block, count, products);
  for (let j = 0; j < width; j += 1) {
    for (let k = 0; k <= j; k += 1) {
      const product = (products[j * width + k] as number) - count * (rests[j] as number) * (rests[k] as number);
      products[j * width + k] = product;
      products[k * width + j] = product;
    }
  }
  return { count, means, products };
}

function sumOf(column: Float64Array, count: number): number {
  let sum = 0;
  for (let row = 0; row < count; row += 1) sum += column[row] as number;
  return sum;
}

/** Takes the mean off a column and returns the sum of what is left. */
function centre(column: Float64Array, mean: number, count: number): number {
  let sum = 0;
  for (let row = 0; row < count; row += 1) {
    const rest = (column[row] as number) - mean;
    column[row] = rest;
    sum += rest;
  }
  return sum;
}

/**
 * Sums of products of columns, lower triangle, each in the order of the rows. Two columns by two at a time: four sums that
 * need not wait for each other, from four loads a row (a third of the time of one product after the other).
 */
function productsOfBlock(block: readonly Float64Array[], count: number, products: Float64Array): void {
  const width = block.length;
  const tile = new Float64Array(4);
  for (let j = 0; j < width; j += 2) {
    const jNext = Math.min(j + 1, width - 1);
    for (let k = 0; k <= j; k += 2) {
      const kNext = Math.min(k + 1, width - 1);
      fourProducts(
        block[j] as Float64Array,
        block[jNext] as Float64Array,
        block[k] as Float64Array,
        block[kNext] as Float64Array,
        count,
        tile,
      );
      products[j * width + k] = tile[0] as number;
      products[j * width + kNext] = tile[1] as number;
      products[jNext * width + k] = tile[2] as number;
      products[jNext * width + kNext] = tile[3] as number;
    }
  }
}

/** Sums of a c, a d, b c and b d. */
function fourProducts(
  a: Float64Array,
  b: Float64Array,
  c: Float64Array,
  d: Float64Array,
  count: number,
  sums: Float64Array,
): void {
  let ac = 0;
  let ad = 0;
  let bc = 0;
  let bd = 0;
  for (let row = 0; row < count; row += 1) {
    const inA = a[row] as number;
    const inB = b[row] as number;
    const inC = c[row] as number;
    const inD = d[row] as number;
    ac += inA * inC;
    ad += inA * inD;
    bc += inB * inC;
    bd += inB * inD;
  }
  sums[0] = ac;
  sums[1] = ad;
  sums[2] = bc;
  sums[3] = bd;
}

function mergeTwo(a: Moments, b: Moments): Moments {
  if (a.count === 0) return b;
  if (b.count === 0) return a;
  const width = a.means.length;
  const count = a.count + b.count;
  const share = b.count / count;
  const weight = a.count * share;
  const means = new Float64Array(width);
  const products = new Float64Array(width * width);
  for (let j = 0; j < width; j += 1) {
    const shiftJ = (b.means[j] as number) - (a.means[j] as number);
    means[j] = (a.means[j] as number) + shiftJ * share;
    for (let k = 0; k <= j; k += 1) {
      const shiftK = (b.means[k] as number) - (a.means[k] as number);
      const at = j * width + k;
      const product = (a.products[at] as number) + (b.products[at] as number) + shiftJ * shiftK * weight;
      products[at] = product;
      products[k * width + j] = product;
    }
  }
  return { count, means, products };
}

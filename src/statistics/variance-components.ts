/** Variances of a random-intercept model by restricted maximum likelihood (restricted-likelihood.ts). */
import type { MixedBlocks } from './mixed-blocks.ts';
import { type RestrictedSlope, restrictedFit, restrictedSlope } from './restricted-likelihood.ts';
import { matrixTimesVector, symmetricInverse } from './symmetric-inverse.ts';

export interface VarianceComponents {
  /** Variances of the scaled response: residual, cells (labs, or sessions when nested), labs when nested. */
  readonly components: readonly number[];
  /** The criterion and its slope at the optimum. */
  readonly at: RestrictedSlope;
  readonly converged: boolean;
  readonly iterations: number;
}

const mostIterations = 500;
/** Relative step of every variance below which the search has arrived. */
const smallestStep = 1e-13;
/** Below this a step that does not shrink any more is rounding. */
const roundingStep = 1e-9;
/** A residual variance below this share of the response's leaves nothing to estimate. */
const leastResidual = 1e-14;

/** Ratios of a variance to the residual one at which the search for the global optimum begins: 0 and half decades. */
const startingRatios = [0, ...decades(-5, 5)];

/** Half decades from 10^low to 10^high, without a power function. */
function decades(low: number, high: number): number[] {
  const ratios: number[] = [];
  for (let exponent = low; exponent <= high; exponent += 1) {
    let value = 1;
    for (let step = 0; step < Math.abs(exponent); step += 1) value = exponent < 0 ? value / 10 : value * 10;
    ratios.push(value, value * 3);
  }
  return ratios;
}

/**
 * The variances with the smallest criterion: the best point of a grid of ratios (the profile can have several valleys),
 * then Fisher scoring with variances held at or above zero. Null when the model cannot be fitted (no residual left,
 * predictors that cannot be told apart).
 */
export function varianceComponents(blocks: MixedBlocks): VarianceComponents | null {
  const ratios = blocks.nested ? startingRatios.filter((_, place) => place % 2 === 1 || place === 0) : startingRatios;
  const mean = blocks.count / Math.max(1, blocks.cells);
  let best: { criterion: number; components: number[] } | null = null;
  for (const cell of ratios) {
    for (const shared of blocks.nested ? ratios : [null]) {
      const shape = shared === null ? [1, cell / mean] : [1, cell / mean, shared / mean];
      const profiled = profileResidual(blocks, shape);
      if (profiled !== null && (best === null || profiled.criterion < best.criterion)) best = profiled;
    }
  }
  if (best === null) return null;
  return improve(
    blocks,
    best.components,
    best.components.map(() => true),
  );
}

/** The criterion with the residual variance at its best for the given ratios. */
function profileResidual(blocks: MixedBlocks, shape: readonly number[]) {
  const k = blocks.width - 1;
  const unit = restrictedFit(blocks, shape);
  if (unit === null) return null;
  // With residual 1 the form r'V^-1r is (N - k) times the best residual variance.
  const slope = restrictedSlope(blocks, shape);
  if (slope === null) return null;
  const form = residualForm(blocks, slope, shape);
  const residual = form / (blocks.count - k);
  if (!(residual > leastResidual)) return null;
  const components = shape.map((value) => value * residual);
  const fit = restrictedFit(blocks, components);
  return fit === null ? null : { criterion: fit.criterion, components };
}

/** r'V^-1 r from the scores: sum of variance_i r'V^-1 G_i V^-1 r, because V = sum of variance_i G_i. */
function residualForm(blocks: MixedBlocks, slope: RestrictedSlope, components: readonly number[]): number {
  // score_i = (form_i - tr_i) / 2 with sum of variance_i tr_i = N - k.
  let sum = blocks.count - (blocks.width - 1);
  components.forEach((value, i) => {
    sum += 2 * value * (slope.score[i] as number);
  });
  return sum;
}

/** Fisher scoring over the components marked free, from a feasible start, until steps fall below `accuracy`. */
export function improve(
  blocks: MixedBlocks,
  start: readonly number[],
  free: readonly boolean[],
  accuracy = smallestStep,
): VarianceComponents | null {
  let components = [...start];
  let here = restrictedSlope(blocks, components);
  let before = Number.POSITIVE_INFINITY;
  if (here === null) return null;
  for (let iteration = 1; iteration <= mostIterations; iteration += 1) {
    const { score, information }: RestrictedSlope = here;
    const moving = [...components.keys()].filter(
      (i) => free[i] === true && ((components[i] as number) > 0 || (score[i] as number) > 0),
    );
    const step = scoringStep(score, information, moving, components.length);
    if (step === null) return { components, at: here, converged: false, iterations: iteration };
    let taken: number[] | null = null;
    for (let share = 1; share > 1e-10; share /= 2) {
      const tried = components.map((value, i) => Math.max(0, value + share * (step[i] as number)));
      if (!((tried[0] as number) > 0)) continue;
      const fit = restrictedFit(blocks, tried);
      if (fit !== null && fit.criterion <= here.criterion + 1e-10 * (1 + Math.abs(here.criterion))) {
        taken = tried;
        break;
      }
    }
    if (taken === null) return { components, at: here, converged: false, iterations: iteration };
    let largest = 0;
    taken.forEach((value, i) => {
      const old = components[i] as number;
      if (value !== old) largest = Math.max(largest, Math.abs(value - old) / Math.max(value, old));
    });
    components = taken;
    here = restrictedSlope(blocks, components);
    if (here === null) return null;
    // In the last digits steps stop shrinking; that is an arrival too.
    if (largest < accuracy || (largest < roundingStep && largest >= before)) {
      return { components, at: here, converged: true, iterations: iteration };
    }
    before = largest;
  }
  return { components, at: here, converged: false, iterations: mostIterations };
}

function scoringStep(
  score: Float64Array,
  information: Float64Array,
  moving: readonly number[],
  count: number,
): Float64Array | null {
  const own = Float64Array.from(moving.flatMap((i) => moving.map((j) => information[i * count + j] as number)));
  const solved = symmetricInverse(own, moving.length);
  if (solved === null) return null;
  const part = matrixTimesVector(
    solved.inverse,
    Float64Array.from(moving, (i) => score[i] as number),
  );
  const step = new Float64Array(count);
  moving.forEach((i, place) => {
    step[i] = part[place] as number;
  });
  return step;
}

/** Seeded sets of points to be matched, and the caliper that gives each point about so many candidates. */
import { candidatePairs, type Points } from '../../../src/matching/candidate-pairs.ts';
import { seededUniform } from './seeded-uniform.ts';

export const spreads = ['uniform', 'clustered'] as const;
export type Spread = (typeof spreads)[number];

export interface MatchingProblem {
  readonly first: Points;
  readonly second: Points;
  readonly calipers: readonly number[];
  /** Mean over the first side. */
  readonly candidates: number;
}

const variables = 3;
const clusters = 40;
/** Standard-deviation-like half width of a cluster, in the unit cube. */
const clusterWidth = 0.12;

/**
 * Two sides of the same size in a unit cube of three variables.
 *
 * uniform: evenly spread. clustered: both sides in forty clusters, in every second one of which the first side has
 * three points for each point of the second, in the others the reverse, so that many points must look beyond their
 * neighbours.
 */
export function matchingProblem(spread: Spread, size: number, candidates: number): MatchingProblem {
  const first = side(spread, size, 1);
  const second = side(spread, size, 2);
  let narrow = 0;
  let wide = 1;
  for (let step = 0; step < 14; step += 1) {
    const caliper = (narrow + wide) / 2;
    const found = meanCandidates(first, second, caliper, candidates);
    if (found < candidates) narrow = caliper;
    else wide = caliper;
  }
  const calipers = Array.from({ length: variables }, () => wide);
  return { first, second, calipers, candidates: candidatePairs(first, second, calipers).column.length / size };
}

/** Estimated from about 500 points of the first side, evenly taken. */
function meanCandidates(first: Points, second: Points, caliper: number, enough: number): number {
  const step = Math.max(1, Math.floor(first.count / 500));
  let found = 0;
  let asked = 0;
  for (let i = 0; i < first.count; i += step) {
    asked += 1;
    for (let j = 0; j < second.count; j += 1) {
      let within = true;
      for (let k = 0; k < variables && within; k += 1) {
        within = Math.abs(at(first, k, i) - at(second, k, j)) <= caliper;
      }
      if (within) found += 1;
    }
    if (found > 4 * enough * (first.count / step)) return Number.POSITIVE_INFINITY;
  }
  return found / asked;
}

function at(points: Points, variable: number, point: number): number {
  return points.values[variable]?.[point] as number;
}

function side(spread: Spread, count: number, which: 1 | 2): Points {
  const uniform = seededUniform(1000 + which);
  const centreOf = seededUniform(77);
  const centres = Array.from({ length: clusters }, () => Array.from({ length: variables }, () => centreOf()));
  const values = Array.from({ length: variables }, () => new Float64Array(count));
  for (let i = 0; i < count; i += 1) {
    const centre = spread === 'uniform' ? null : (centres[clusterFor(uniform, which)] as number[]);
    for (let k = 0; k < variables; k += 1) {
      // A sum of three uniform numbers stands for a bell.
      const value =
        centre === null
          ? uniform()
          : (centre[k] as number) + clusterWidth * ((2 / 3) * (uniform() + uniform() + uniform()) - 1);
      (values[k] as Float64Array)[i] = value;
    }
  }
  return { count, groups: new Int32Array(count), values };
}

/** Side 1 draws even clusters three times as often as odd ones, side 2 the reverse. */
function clusterFor(uniform: () => number, which: 1 | 2): number {
  const pair = 2 * Math.floor((uniform() * clusters) / 2);
  const often = uniform() < 0.75;
  return pair + ((which === 1) === often ? 0 : 1);
}

/** Calipers: how far the two points of a pair may lie apart in one variable. */
import { type Candidates, caliperSlack, type Points } from './candidate-pairs.ts';

/** So many combined standard uncertainties sqrt(u_i^2 + u_j^2) of the two points: another caliper for every pair. */
export interface CombinedCaliper {
  /** > 0. */
  readonly factor: number;
  /** Standard uncertainty of each point, in the unit of the variable; at least one side > 0. */
  readonly first: Float64Array;
  readonly second: Float64Array;
}

/** The same for every pair, in the unit of the variable, or by the uncertainties of the pair. */
export type Caliper = number | CombinedCaliper;

/** Caliper of one pair. */
export function caliperOf(caliper: Caliper, i: number, j: number): number {
  if (typeof caliper === 'number') return caliper;
  const first = caliper.first[i] as number;
  const second = caliper.second[j] as number;
  return caliper.factor * Math.sqrt(first * first + second * second);
}

/** The largest caliper that any pair can have; the least positive number when there are no points. */
export function widestReach(caliper: Caliper): number {
  if (typeof caliper === 'number') return caliper;
  const largest = (values: Float64Array): number => values.reduce((most, value) => Math.max(most, value), 0);
  const first = largest(caliper.first);
  const second = largest(caliper.second);
  return Math.max(Number.MIN_VALUE, caliper.factor * Math.sqrt(first * first + second * second));
}

/**
 * Candidates within the widest reach, held against the caliper of each pair; distances in calipers of the pair. The
 * candidates themselves when every caliper is a number.
 */
export function narrowCandidates(
  candidates: Candidates,
  first: Points,
  second: Points,
  calipers: readonly Caliper[],
): Candidates {
  if (calipers.every((caliper) => typeof caliper === 'number')) return candidates;
  const start = new Int32Array(candidates.start.length);
  const column = new Int32Array(candidates.column.length);
  const distance = new Float64Array(candidates.column.length);
  let kept = 0;
  for (let i = 0; i + 1 < start.length; i++) {
    for (let e = candidates.start[i] as number; e < (candidates.start[i + 1] as number); e++) {
      const j = candidates.column[e] as number;
      const apart = pairDistance(first, second, calipers, i, j);
      if (Number.isNaN(apart)) continue;
      column[kept] = j;
      distance[kept++] = apart;
    }
    start[i + 1] = kept;
  }
  return { start, column: column.slice(0, kept), distance: distance.slice(0, kept) };
}

/** sqrt(sum (difference / caliper)^2) of one pair; NaN when a difference exceeds its caliper. */
function pairDistance(first: Points, second: Points, calipers: readonly Caliper[], i: number, j: number): number {
  let sum = 0;
  for (let k = 0; k < calipers.length; k++) {
    const caliper = caliperOf(calipers[k] as Caliper, i, j);
    const difference = Math.abs((first.values[k]?.[i] as number) - (second.values[k]?.[j] as number));
    if (!(difference <= caliper * (1 + caliperSlack))) return Number.NaN;
    // Two exact values that agree: no distance, whatever the caliper.
    const share = difference === 0 ? 0 : difference / caliper;
    sum += share * share;
  }
  return Math.sqrt(sum);
}

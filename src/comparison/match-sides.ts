import type { UnmatchedReason } from '../../shared/comparison-pairs.ts';
import type { ComparisonSpecification } from '../../shared/comparison-specification.ts';
import type { Points } from '../matching/candidate-pairs.ts';
import { matchPairs } from '../matching/match-pairs.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import type { ContrastSides } from './contrast-sides.ts';
import { exactKeys } from './exact-keys.ts';
import type { ResolvedCaliper } from './resolve-calipers.ts';

export interface MatchedPair {
  /** Rows of the columns. */
  readonly first: number;
  readonly second: number;
  readonly distance: number;
}

export interface SingleShot {
  readonly side: 'first' | 'second';
  /** Place on its side. */
  readonly place: number;
  readonly reason: UnmatchedReason;
}

export interface MatchedSides {
  readonly pairs: readonly MatchedPair[];
  /** Places on their sides of the two shots of each pair. */
  readonly places: readonly { readonly first: number; readonly second: number }[];
  readonly ties: number;
  readonly single: readonly SingleShot[];
  /** Dual prices of the shots, in the order of the sides, and what they are held against. */
  readonly prices: { readonly first: Float64Array; readonly second: Float64Array };
  readonly unmatchedCost: number;
  readonly costScale: number;
  readonly totalCost: number;
  readonly totalDistance: number;
  readonly candidates: number;
}

/**
 * Optimal pairs of the two sides within exact groups and calipers. Every row must have all groups and variables.
 * @param worth distance above which a pair is given up; without it as many pairs as there can be
 * @param onProgress told now and then which share of the first side is settled, from 0 to 1
 */
export function matchSides(
  columns: ShotColumns,
  sides: ContrastSides,
  calipers: readonly ResolvedCaliper[],
  exact: ComparisonSpecification['exact'],
  worth?: number,
  onProgress?: (share: number) => void,
): MatchedSides {
  const keys = exactKeys(columns, exact);
  const points = (rows: Int32Array): Points => ({
    count: rows.length,
    groups: rows.map(keys),
    values: calipers.map(({ variable }) =>
      Float64Array.from(rows, (row) => columns.variables[variable][row] as number),
    ),
  });
  const first = points(sides.first);
  const second = points(sides.second);
  const matching = matchPairs(
    first,
    second,
    calipers.map(({ caliper }) => caliper),
    worth,
    onProgress,
  );
  const { pairs, assignment, costs } = matching;
  return {
    pairs: pairs.map(({ first: i, second: j, distance }) => ({
      first: sides.first[i] as number,
      second: sides.second[j] as number,
      distance,
    })),
    places: pairs,
    ties: matching.ties,
    single: [
      ...singles('first', first, second, assignment.columnOfRow, matching.candidatesOfFirst),
      ...singles('second', second, first, assignment.rowOfColumn, matching.candidatesOfSecond),
    ],
    prices: { first: assignment.certificate.u, second: assignment.certificate.v },
    unmatchedCost: assignment.certificate.unmatchedCost,
    costScale: matching.scale,
    totalCost: assignment.totalCost,
    totalDistance: pairs.reduce((sum, { distance }) => sum + distance, 0),
    candidates: costs.column.length,
  };
}

/** Shots of one side without partner, and why. */
function singles(
  side: SingleShot['side'],
  own: Points,
  other: Points,
  partner: Int32Array,
  candidates: Int32Array,
): SingleShot[] {
  const present = new Set(other.groups);
  const found: SingleShot[] = [];
  for (let place = 0; place < own.count; place++) {
    if ((partner[place] as number) >= 0) continue;
    const reason = !present.has(own.groups[place] as number)
      ? 'noShotInGroup'
      : candidates[place] === 0
        ? 'noneWithinCalipers'
        : 'candidatesTaken';
    found.push({ side, place, reason });
  }
  return found;
}

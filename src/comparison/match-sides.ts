import type { ComparisonSpecification } from '../../shared/comparison.ts';
import type { GroupingName } from '../../shared/quantities.ts';
import type { Points } from '../matching/candidate-pairs.ts';
import { matchPairs } from '../matching/match-pairs.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { list } from '../pooling/figures-in-words.ts';
import type { ContrastSides } from './contrast-sides.ts';

export interface MatchedPair {
  /** Rows of the columns. */
  readonly first: number;
  readonly second: number;
  readonly distance: number;
}

export interface MatchedSides {
  readonly pairs: readonly MatchedPair[];
  readonly ties: number;
  /** Single shots of each side, and why. */
  readonly unmatched: {
    readonly first: number;
    readonly second: number;
    readonly reasons: { readonly reason: string; readonly shots: number }[];
  };
}

export const groupingWords: Readonly<Record<GroupingName, string>> = {
  lab: 'lab',
  rig: 'rig',
  cue: 'cue',
  table: 'table',
  setUp: 'set-up',
  player: 'player',
  strokeStyle: 'stroke style',
  grip: 'grip',
  sessionDate: 'session date',
};

/** What is equal within a pair, in words. Without the object-ball distance among the matched it is not the same set-up. */
export function exactWords({ match, exact }: Pick<ComparisonSpecification, 'match' | 'exact'>): string[] {
  const isDistanceMatched = match.some(({ variable }) => variable === 'objectBallDistance');
  return exact.map((name) => (name === 'setUp' && !isDistanceMatched ? 'table' : groupingWords[name]));
}

/**
 * Optimal pairs of the two sides within exact groups and calipers. Every row must have all groups and variables.
 * @param onProgress told now and then which share of the first side is settled, from 0 to 1
 */
export function matchSides(
  columns: ShotColumns,
  sides: ContrastSides,
  { match, exact }: Pick<ComparisonSpecification, 'match' | 'exact'>,
  onProgress?: (share: number) => void,
): MatchedSides {
  const keys = exactKeys(columns, exact);
  const points = (rows: Int32Array): Points => ({
    count: rows.length,
    groups: rows.map(keys),
    values: match.map(({ variable }) => Float64Array.from(rows, (row) => columns.variables[variable][row] as number)),
  });
  const first = points(sides.first);
  const second = points(sides.second);
  const matching = matchPairs(
    first,
    second,
    match.map(({ caliper }) => caliper),
    undefined,
    onProgress,
  );

  const paired = { first: new Uint8Array(first.count), second: new Uint8Array(second.count) };
  for (const pair of matching.pairs) {
    paired.first[pair.first] = 1;
    paired.second[pair.second] = 1;
  }
  const alone = { group: 0, calipers: 0, taken: 0 };
  const count = (own: Points, other: Points, isPaired: Uint8Array, candidates: Int32Array): number => {
    const present = new Set(other.groups);
    let single = 0;
    for (let i = 0; i < own.count; i++) {
      if (isPaired[i] === 1) continue;
      single += 1;
      if (!present.has(own.groups[i] as number)) alone.group += 1;
      else if (candidates[i] === 0) alone.calipers += 1;
      else alone.taken += 1;
    }
    return single;
  };
  const singleFirst = count(first, second, paired.first, matching.candidatesOfFirst);
  const singleSecond = count(second, first, paired.second, matching.candidatesOfSecond);
  const where = exact.length === 0 ? '' : ` with the same ${list(exactWords({ match, exact }))}`;
  return {
    pairs: matching.pairs.map(({ first: i, second: j, distance }) => ({
      first: sides.first[i] as number,
      second: sides.second[j] as number,
      distance,
    })),
    ties: matching.ties,
    unmatched: {
      first: singleFirst,
      second: singleSecond,
      reasons: [
        { reason: `no shot of the other side${where}`, shots: alone.group },
        { reason: `none of the other side${where} within the calipers`, shots: alone.calipers },
        { reason: 'all candidates within the calipers are in other pairs', shots: alone.taken },
      ].filter(({ shots }) => shots > 0),
    },
  };
}

/** Numbers the combinations of the exact groupings in the order in which rows ask for them. */
export function exactKeys(columns: ShotColumns, exact: readonly GroupingName[]): (row: number) => number {
  const known = new Map<string, number>();
  const codes = exact.map((name) => columns.groups[name].codes);
  return (row) => {
    const key = codes.map((column) => column[row]).join(' ');
    const number = known.get(key) ?? known.size;
    known.set(key, number);
    return number;
  };
}

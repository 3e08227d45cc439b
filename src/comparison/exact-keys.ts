/** Exact groups: what is equal within a pair. */
import type { ComparisonSpecification } from '../../shared/comparison.ts';
import type { GroupingName } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';

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

/** Name of the group of a row, empty where the grouping is unknown. */
export function groupName({ groups }: ShotColumns, grouping: GroupingName, row: number): string {
  const { codes, names } = groups[grouping];
  return names[codes[row] as number] ?? '';
}

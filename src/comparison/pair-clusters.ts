/** Whose pairs may err together. */
import type { ComparisonSpecification } from '../../shared/comparison-specification.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import type { Clusters } from '../statistics/clustered-difference.ts';
import type { MatchedPair } from './match-sides.ts';

export type ClusterCarrier = 'lab' | 'player';

export interface PairClusters extends Clusters {
  readonly by: ClusterCarrier;
  /** Why these. */
  readonly reason: string;
}

/** Fewer clusters than this say too little about their spread to be taken without being asked for. */
const fewestClusters = 3;

/**
 * Pairs that share a lab (or player) stand in one cluster; a pair across two of them joins both. Shots of a lab whose
 * player is not known count as one player.
 * @returns null when pairs count as independent
 */
export function pairClusters(
  columns: ShotColumns,
  pairs: readonly MatchedPair[],
  clusterBy: ComparisonSpecification['clusterBy'],
): PairClusters | null {
  if (clusterBy === 'none') return null;
  if (clusterBy !== 'automatic') {
    return { ...clustersBy(columns, pairs, clusterBy), by: clusterBy, reason: 'as asked for' };
  }
  const labs = clustersBy(columns, pairs, 'lab');
  if (labs.count >= fewestClusters) {
    return {
      ...labs,
      by: 'lab',
      reason: `${labs.count} labs give pairs, and what a lab does alike makes its pairs alike`,
    };
  }
  const players = clustersBy(columns, pairs, 'player');
  if (players.count < fewestClusters || players.count >= pairs.length) return null;
  return { ...players, by: 'player', reason: `${players.count} players repeat, and the strokes of a player are alike` };
}

function clustersBy(columns: ShotColumns, pairs: readonly MatchedPair[], by: ClusterCarrier): Clusters {
  const labs = columns.groups.lab.codes;
  const players = columns.groups.player.codes;
  const carrier = (row: number): string => {
    const player = players[row] as number;
    return by === 'lab' || player < 0 ? `lab ${labs[row]}` : `player ${player}`;
  };
  const parent = new Map<string, string>();
  const rootOf = (name: string): string => {
    let at = name;
    for (let above = parent.get(at); above !== undefined && above !== at; above = parent.get(at)) at = above;
    return at;
  };
  for (const { first, second } of pairs) {
    const [a, b] = [rootOf(carrier(first)), rootOf(carrier(second))];
    if (!parent.has(a)) parent.set(a, a);
    parent.set(b, a);
  }
  const numbers = new Map<string, number>();
  const codes = Int32Array.from(pairs, ({ first }) => {
    const root = rootOf(carrier(first));
    const number = numbers.get(root) ?? numbers.size;
    numbers.set(root, number);
    return number;
  });
  return { codes, count: numbers.size };
}

/** Paired and unmatched shots as the answer shows them. */
import type { ComparisonResult } from '../../shared/comparison.ts';
import type { PairedShot, UnmatchedReason } from '../../shared/comparison-pairs.ts';
import type { ComparisonSpecification } from '../../shared/comparison-specification.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { list } from '../pooling/figures-in-words.ts';
import type { ContrastSides } from './contrast-sides.ts';
import type { PairEstimates } from './estimate-pairs.ts';
import { exactWords, groupName } from './exact-keys.ts';
import type { MatchedSides } from './match-sides.ts';
import type { ResolvedCaliper } from './resolve-calipers.ts';

export interface PresentedPairs {
  readonly columns: ShotColumns;
  readonly sides: ContrastSides;
  readonly matched: MatchedSides;
  readonly calipers: readonly ResolvedCaliper[];
  readonly specification: ComparisonSpecification;
}

export function presentPairs(parts: PresentedPairs, estimates: PairEstimates): ComparisonResult['pairs'] {
  return parts.matched.pairs.map(({ distance }, pair) => {
    const { first, second } = parts.matched.places[pair] as { first: number; second: number };
    return {
      first: presentShot(parts, 'first', first),
      second: presentShot(parts, 'second', second),
      distance,
      difference: estimates.differences[pair] as number,
      adjustedDifference: estimates.adjustedDifferences?.[pair] ?? null,
    };
  });
}

export function presentUnmatched(parts: PresentedPairs): ComparisonResult['unmatched'] {
  const { matched, specification } = parts;
  const shots = matched.single.map(({ side, place, reason }) => ({
    side,
    reason,
    ...presentShot(parts, side, place),
  }));
  return {
    first: shots.filter(({ side }) => side === 'first').length,
    second: shots.filter(({ side }) => side === 'second').length,
    reasons: reasonsOf(matched, specification),
    shots,
  };
}

/** Why shots found no partner, in words, with their number; only reasons that occur. */
export function reasonsOf(
  { single }: Pick<MatchedSides, 'single'>,
  specification: Pick<ComparisonSpecification, 'match' | 'exact'>,
): ComparisonResult['unmatched']['reasons'] {
  const { exact } = specification;
  const where = exact.length === 0 ? '' : ` with the same ${list(exactWords(specification))}`;
  const words: Readonly<Record<UnmatchedReason, string>> = {
    noShotInGroup: `no shot of the other side${where}`,
    noneWithinCalipers: `none of the other side${where} within the calipers`,
    candidatesTaken: 'all candidates within the calipers are in other pairs',
  };
  return (Object.keys(words) as UnmatchedReason[]).flatMap((code) => {
    const shots = single.filter((each) => each.reason === code).length;
    return shots === 0 ? [] : [{ code, reason: words[code], shots }];
  });
}

function presentShot(
  { columns, sides, matched, calipers, specification }: PresentedPairs,
  side: 'first' | 'second',
  place: number,
): PairedShot {
  const { contrast, response, exact } = specification;
  const { variables, labels } = columns;
  const row = sides[side][place] as number;
  const byPair = calipers.some(({ caliper }) => typeof caliper !== 'number');
  const uncertainties = calipers.map(({ caliper }) =>
    typeof caliper === 'number' ? 0 : (caliper[side][place] as number),
  );
  return {
    lab: groupName(columns, 'lab', row),
    label: labels[row] as string,
    group: exact.map((name) => groupName(columns, name, row)).join(' | '),
    contrast:
      contrast.kind === 'grouping'
        ? groupName(columns, contrast.grouping, row)
        : (variables[contrast.variable][row] as number),
    response: variables[response][row] as number,
    match: calipers.map(({ variable }) => variables[variable][row] as number),
    ...(byPair ? { uncertainties } : {}),
    price: matched.prices[side][place] as number,
  };
}

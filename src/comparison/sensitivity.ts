/** How far the verdict leans on caliper width and on the pairs that cost most. */
import type { ComparisonResult } from '../../shared/comparison.ts';
import type { Verdict } from '../../shared/comparison-estimates.ts';
import type { ComparisonSpecification } from '../../shared/comparison-specification.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { list, rounded } from '../pooling/figures-in-words.ts';
import { analyseVariant, type Variant } from './analyse-variant.ts';
import type { ContrastSides } from './contrast-sides.ts';
import type { PairEstimates } from './estimate-pairs.ts';
import { hiddenBiasOfPairs } from './hidden-bias-of-pairs.ts';
import type { MatchedSides } from './match-sides.ts';
import { type ResolvedCaliper, scaledCalipers } from './resolve-calipers.ts';

type Sensitivity = ComparisonResult['sensitivity'];

const factors = [0.5, 0.75, 1, 1.5, 2] as const;
/** Pairs at most as far apart as this share of them are worth their distance. */
const worthwhileShares = [0.9, 0.75, 0.5] as const;
/**
 * With more pairs within the calipers than this, wider calipers take too long: their candidates grow with every
 * variable. Only one narrower width and one price are tried then.
 */
const manyCandidates = 150_000;
const factorsOfMany: readonly number[] = [0.5, 1];

export interface SensitivityParts {
  readonly columns: ShotColumns;
  readonly sides: ContrastSides;
  readonly calipers: readonly ResolvedCaliper[];
  readonly specification: ComparisonSpecification;
  readonly matched: MatchedSides;
  readonly estimates: PairEstimates;
  /** Of the answer itself. */
  readonly answer: Variant;
  readonly margin: number | null;
}

export function sensitivity(parts: SensitivityParts): Sensitivity {
  const calipers = caliperRows(parts);
  const lastPairs = lastPairRows(parts);
  return {
    calipers,
    caliperSentence: caliperSentence(calipers, parts.answer.verdict),
    lastPairs,
    lastPairsSentence: lastPairsSentence(lastPairs, parts),
    hiddenBias: hiddenBiasOfPairs(parts.estimates, parts.margin, parts.specification),
  };
}

function caliperRows({ columns, sides, calipers, specification, matched, answer, margin }: SensitivityParts) {
  const isLarge = matched.candidates > manyCandidates;
  return factors.flatMap((factor): Sensitivity['calipers'] => {
    if (factor === 1) return [{ factor, ...answer }];
    if (isLarge && !factorsOfMany.includes(factor)) return [];
    const scaled = scaledCalipers(calipers, factor);
    const { variant } = analyseVariant(columns, sides, scaled, specification, margin);
    return [{ factor, ...variant }];
  });
}

/** The exact optimum of total distance plus a price for every pair given up, at a few prices. */
function lastPairRows({ columns, sides, calipers, specification, matched, margin }: SensitivityParts) {
  const distances = Float64Array.from(matched.pairs, ({ distance }) => distance).sort();
  const shares = matched.candidates > manyCandidates ? worthwhileShares.slice(0, 1) : worthwhileShares;
  return shares.map((share): Sensitivity['lastPairs'][number] => {
    const worth = distances[Math.max(0, Math.ceil(share * distances.length) - 1)] as number;
    const again = analyseVariant(columns, sides, calipers, specification, margin, worth);
    const givenUp = matched.pairs.length - again.matched.pairs.length;
    const { totalDistance } = again.matched;
    return {
      worth,
      totalDistance,
      distancePerPair: givenUp > 0 ? (matched.totalDistance - totalDistance) / givenUp : null,
      ...again.variant,
    };
  });
}

function caliperSentence(rows: Sensitivity['calipers'], verdict: Verdict | null): string {
  const judged = rows.filter((row) => row.estimate !== null);
  const counts = rows.map(({ factor, pairs }) => `${pairs} at ${factor} times`);
  const base = `Pairs by caliper width: ${list(counts)}.`;
  if (verdict === 'noMargin') return base;
  const others = judged.filter((row) => row.verdict !== verdict).map(({ factor }) => `${factor}`);
  return others.length === 0
    ? `${base} The verdict is the same at every width that gives an answer.`
    : `${base} The verdict is another at ${list(others)} times the calipers: it depends on the caliper.`;
}

function lastPairsSentence(rows: Sensitivity['lastPairs'], { answer, matched }: SensitivityParts): string {
  const mean = matched.totalDistance / matched.pairs.length;
  const costs = rows.flatMap(({ pairs, distancePerPair }) =>
    distancePerPair === null
      ? []
      : [`giving up ${matched.pairs.length - pairs} saves ${rounded(distancePerPair, 2)} calipers each`],
  );
  const base = `A pair lies ${rounded(mean, 2)} calipers apart on average`;
  if (costs.length === 0) return `${base}; none costs more than it is worth.`;
  const changed = rows.some(({ verdict, estimate }) => estimate !== null && verdict !== answer.verdict);
  const verdict =
    answer.verdict === 'noMargin'
      ? ''
      : changed
        ? ' The verdict changes when such pairs are given up.'
        : ' The verdict stays when such pairs are given up.';
  return `${base}; the last pairs cost more: ${list(costs)}.${verdict}`;
}

/** The estimates as the answer shows them. */
import type { ComparisonResult } from '../../shared/comparison.ts';
import type { ComparisonSpecification } from '../../shared/comparison-specification.ts';
import { quantities } from '../../shared/quantities.ts';
import { coefficientUnit } from '../pooling/coefficient-words.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { meanOf } from '../statistics/paired-difference.ts';
import { shown } from './effect-words.ts';
import type { PairEstimates } from './estimate-pairs.ts';
import type { MatchedPair } from './match-sides.ts';
import { presentDifference } from './present-difference.ts';
import type { ResolvedCaliper } from './resolve-calipers.ts';

export function presentEstimates(
  estimates: PairEstimates,
  calipers: readonly ResolvedCaliper[],
  specification: ComparisonSpecification,
): Pick<ComparisonResult, 'quoted' | 'raw' | 'adjusted' | 'adjustment' | 'clustered'> {
  const { raw, adjusted, leftovers, clusters, clusteredRaw, clusteredAdjusted, quoted, quotedOf, quotedBy } = estimates;
  const { response } = specification;
  const adjustedWords = 'Mean pair difference adjusted for leftover differences in the matching variables';
  const rawWords = 'Mean pair difference as it is';
  const together = clusters === null ? '' : `, pairs of one ${clusters.by} erring together`;
  const quotedWords = quotedOf === 'adjusted' ? adjustedWords : rawWords;
  return {
    quoted: {
      of: quotedOf,
      clusteredBy: quotedBy,
      ...presentDifference(quoted, specification, `${quotedWords}${quotedBy === null ? '' : together}`),
    },
    raw: presentDifference(raw, specification, `${rawWords}, pairs independent (paired t)`),
    adjusted:
      adjusted === null ? null : presentDifference(adjusted, specification, `${adjustedWords}, pairs independent`),
    adjustment: calipers.map(({ variable }, place) => {
      const slope = adjusted?.slopes[place] ?? null;
      return {
        variable,
        slope,
        unit: coefficientUnit(response, [{ variable, power: 1 }]),
        worth: slope === null ? null : slope * meanOf(leftovers[place] as Float64Array),
      };
    }),
    clustered:
      clusters === null
        ? null
        : {
            by: clusters.by,
            clusters: clusters.count,
            raw:
              clusteredRaw === null ? null : presentDifference(clusteredRaw, specification, `${rawWords}${together}`),
            adjusted:
              clusteredAdjusted === null
                ? null
                : presentDifference(clusteredAdjusted, specification, `${adjustedWords}${together}`),
            reason: clusters.reason,
          },
  };
}

export function contrastAchieved(
  { variables }: ShotColumns,
  pairs: readonly MatchedPair[],
  { contrast }: ComparisonSpecification,
): ComparisonResult['contrastAchieved'] {
  if (contrast.kind === 'grouping') return null;
  const { variable } = contrast;
  const values = variables[variable];
  const first = meanOf(Float64Array.from(pairs, (pair) => values[pair.first] as number));
  const second = meanOf(Float64Array.from(pairs, (pair) => values[pair.second] as number));
  const { label, siUnit } = quantities[variable];
  return {
    first,
    second,
    unit: siUnit,
    sentence: `Mean ${label} of the pairs: ${shown(variable, first)} on the first side, ${shown(variable, second)} on the second, a contrast of ${shown(variable, first - second)}.`,
  };
}

import type { ComparisonResult } from '../../shared/comparison.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { rounded } from '../pooling/figures-in-words.ts';
import { hodgesLehmann } from '../statistics/hodges-lehmann.ts';
import { signedRankTest } from '../statistics/signed-rank.ts';
import { between, shown } from './effect-words.ts';
import type { PairEstimates } from './estimate-pairs.ts';
import { pWords } from './present-difference.ts';

type RankAnalysis = ComparisonResult['ranks'][number];

/** Signed-rank test with the Hodges-Lehmann interval, of the raw pair differences and of the adjusted ones. */
export function rankAnalyses(
  { differences, rankable, quotedOf, quotedBy }: PairEstimates,
  specification: { readonly response: VariableName; readonly confidence: number },
): RankAnalysis[] {
  const note = quotedBy === null ? '' : ` Ranks count pairs of one ${quotedBy} as independent.`;
  const raw = rankAnalysis('raw', differences, specification, note);
  return quotedOf === 'raw' ? [raw] : [raw, rankAnalysis('adjusted', rankable, specification, note)];
}

function rankAnalysis(
  of: RankAnalysis['of'],
  differences: Float64Array,
  { response, confidence }: { readonly response: VariableName; readonly confidence: number },
  note: string,
): RankAnalysis {
  const test = signedRankTest(differences, 'dropped');
  const centre = hodgesLehmann(differences, confidence);
  const { lower, upper } = centre.interval;
  const how = test.exact ? 'exact' : 'normal approximation';
  const rule =
    test.zeros + test.tied > 0
      ? ` ${test.zeros} differences of zero were dropped before ranking and ${test.tied} of equal size share their mean rank; both stay in the interval.`
      : '';
  return {
    of,
    statistic: test.statistic,
    zeros: test.zeros,
    tied: test.tied,
    exact: test.exact,
    pValue: test.pTwoSided,
    hodgesLehmann: {
      estimate: centre.estimate,
      unit: quantities[response].siUnit,
      interval: { lower, upper },
      confidence: centre.achieved,
    },
    sentence: `By signed ranks of the ${of} pair differences (${how}) ${pWords(test.pTwoSided)}; Hodges-Lehmann centre ${shown(response, centre.estimate, (upper - lower) / 2)}, ${rounded(100 * centre.achieved, 3)} % interval ${between(response, centre.interval)}.${rule}${note}`,
  };
}

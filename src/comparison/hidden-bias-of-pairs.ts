import type { ComparisonResult } from '../../shared/comparison.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { rounded } from '../pooling/figures-in-words.ts';
import { effectUnderBias, toleratedBias, worstCaseP } from '../statistics/hidden-bias.ts';
import { between } from './effect-words.ts';
import type { PairEstimates } from './estimate-pairs.ts';

type HiddenBias = ComparisonResult['sensitivity']['hiddenBias'];

/** Odds of the table. */
const gammas = [1, 1.25, 1.5, 2, 3] as const;

/**
 * How strong a hidden bias could be before the answer changes: of the finding that there is a difference, and of the one
 * that it lies inside the margin (signed-rank tests of d + D and D - d; Rosenbaum & Silber 2009, J. Am. Stat. Assoc.
 * 104:501, from memory).
 * @param margin SI, or null
 */
export function hiddenBiasOfPairs(
  { rankable: values, quoted, quotedOf }: PairEstimates,
  margin: number | null,
  { response, confidence }: { readonly response: VariableName; readonly confidence: number },
): HiddenBias {
  const upwards = quoted.estimate < 0 ? values.map((value) => -value) : values;
  const alpha = 1 - confidence;
  const difference = toleratedBias(upwards, alpha);
  const sides =
    margin === null
      ? null
      : [values.map((value) => value + margin), values.map((value) => margin - value)].map((shifted) =>
          toleratedBias(shifted, alpha),
        );
  const equivalence = sides === null || sides.some((gamma) => gamma === null) ? null : Math.min(...(sides as number[]));
  const rows = gammas.map((gamma) => {
    const { estimates, interval } = effectUnderBias(values, gamma, confidence);
    return { gamma, pValue: worstCaseP(upwards, gamma), estimates, interval };
  });
  return {
    of: quotedOf,
    difference,
    equivalence,
    rows,
    unit: quantities[response].siUnit,
    sentence: sentenceOf(response, difference, equivalence, margin, rows[2] as HiddenBias['rows'][number]),
  };
}

function sentenceOf(
  response: VariableName,
  difference: number | null,
  equivalence: number | null,
  margin: number | null,
  row: HiddenBias['rows'][number],
): string {
  const odds = (gamma: number): string => rounded(gamma, 3);
  const found =
    difference === null
      ? 'By signed ranks a difference is not established even without hidden bias'
      : `The finding of a difference stands up to a hidden bias of odds ${odds(difference)} within pairs`;
  const inside =
    margin === null
      ? ''
      : equivalence === null
        ? '; that it lies inside the margin is not established by signed ranks'
        : `; that it lies inside the margin stands up to odds of ${odds(equivalence)}`;
  return `${found}${inside}. A bias of odds ${odds(row.gamma)} could by itself shift the centre anywhere within ${between(response, row.estimates)}.`;
}

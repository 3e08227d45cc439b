import type { Difference } from '../../shared/comparison-estimates.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { rounded } from '../pooling/figures-in-words.ts';
import { differencePValue, type EstimatedDifference, studentInterval } from '../statistics/paired-difference.ts';
import { between, shown } from './effect-words.ts';

/** A p-value in words: below 0.001 only that. */
export function pWords(p: number): string {
  return p < 0.001 ? 'p < 0.001' : `p = ${rounded(p, 2)}`;
}

/**
 * A difference with interval, p and sentence.
 * @param what what it is, to begin the sentence
 */
export function presentDifference(
  difference: EstimatedDifference,
  { response, confidence }: { readonly response: VariableName; readonly confidence: number },
  what: string,
): Difference {
  const { estimate, standardError, degreesOfFreedom } = difference;
  const interval = studentInterval(difference, confidence);
  const pValue = differencePValue(difference);
  const half = (interval.upper - interval.lower) / 2;
  const sentence = `${what}: ${shown(response, estimate, half)}, ${rounded(100 * confidence, 4)} % interval ${between(response, interval)} (t with ${rounded(degreesOfFreedom, 3)} degrees of freedom, ${pWords(pValue)}).`;
  return {
    estimate,
    unit: quantities[response].siUnit,
    standardError,
    degreesOfFreedom,
    interval,
    pValue,
    sentence,
  };
}

import type { ComparisonResult, ComparisonSpecification, Contrast } from '../../shared/comparison.ts';
import type { AppliedCaliper } from '../../shared/comparison-pairs.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { list, rounded } from '../pooling/figures-in-words.ts';
import { chosen, effectSize, plusMinus } from './effect-words.ts';
import { exactWords, groupingWords } from './exact-keys.ts';

export interface SentenceParts {
  readonly specification: ComparisonSpecification;
  readonly calipers: readonly AppliedCaliper[];
  readonly pairs: number;
  readonly labs: number;
  /** The figure quoted, with its interval. */
  readonly estimate: number;
  readonly interval: { readonly lower: number; readonly upper: number };
  readonly adjusted: boolean;
  readonly clusteredBy: ComparisonResult['quoted']['clusteredBy'];
  readonly verdict: ComparisonResult['verdict'];
  readonly equivalence: ComparisonResult['equivalence'];
}

/** The whole answer in one sentence: pairs and what was held equal; the contrast; the difference; what it rules out. */
export function verdictSentence(parts: SentenceParts): string {
  const { specification, calipers, pairs, labs, estimate, interval, adjusted, clusteredBy } = parts;
  const { exact, contrast, response, confidence } = specification;
  const held = [
    `${pairs} pairs${labs > 1 ? ` from ${labs} labs` : ''}`,
    ...(exact.length > 0 ? [`same ${list(exactWords(specification))}`] : []),
    ...calipers.map(withinWords),
  ].join(', ');
  const difference = plusMinus(response, estimate, (interval.upper - interval.lower) / 2);
  const how = `${rounded(100 * confidence, 4)} % interval${adjusted ? ', adjusted for leftover differences' : ''}${clusteredBy === null ? '' : `, pairs clustered by ${clusteredBy}`}`;
  return `${held}; ${contrastWords(contrast)}: ${responseWords(response)} differs by ${difference} (${how}); ${claim(parts)}.`;
}

function withinWords({ variable, caliper, combinedUncertainties }: AppliedCaliper): string {
  const { label } = quantities[variable];
  if (combinedUncertainties === null) return `${label} within ${chosen(variable, Number(caliper.toPrecision(3)))}`;
  return `${label} within ${rounded(combinedUncertainties, 3)} combined standard uncertainties`;
}

function claim({ specification, verdict, equivalence }: SentenceParts): string {
  if (equivalence === null) {
    return 'no margin was declared, so nothing is claimed about the two being equal';
  }
  const { response } = specification;
  const margin = effectSize(response, equivalence.margin.value);
  const words = {
    differentBeyondMargin: `different, and larger than the margin of ${margin}`,
    differentWithinMargin: `different, but within the margin: differences over ${margin} are ruled out`,
    equivalent: `equivalent: differences over ${margin} are ruled out`,
    undecided: undecidedWords(response, margin, equivalence),
    noMargin: '',
  }[verdict];
  if (equivalence.prior) return words;
  const share = Math.floor(100 * equivalence.shareReceivedAfter);
  return `${words}; exploratory, as only ${share} % of these shots were received after the margin was declared`;
}

function undecidedWords(
  response: VariableName,
  margin: string,
  { interval, furtherPairs }: NonNullable<SentenceParts['equivalence']>,
): string {
  const ruledOut = effectSize(response, Math.max(Math.abs(interval.lower), Math.abs(interval.upper)));
  const further = furtherPairs?.ifNoDifference ?? null;
  const more =
    further === null
      ? ''
      : `; about ${further} more pair${further === 1 ? '' : 's'} would settle it if there is no difference`;
  return `undecided: differences over ${ruledOut} are ruled out, but not those down to the margin of ${margin}${more}`;
}

/** 'accelerating against slowing strokes' and the like: first side against second. */
export function contrastWords(contrast: Contrast): string {
  if (contrast.kind === 'grouping') {
    return `${groupingWords[contrast.grouping]} ${contrast.first} against ${contrast.second}`;
  }
  const { variable } = contrast;
  const { label } = quantities[variable];
  const at = (value: number): string => chosen(variable, value);
  if (contrast.kind === 'sign') {
    if (variable === 'cueAcceleration') return 'accelerating against slowing strokes';
    return `${label} positive against negative`;
  }
  if (contrast.kind === 'threshold') return `${label} above against below ${at(contrast.at)}`;
  const range = ([low, high]: readonly [number, number]): string => `${at(low)} to ${at(high)}`;
  return `${label} ${range(contrast.first)} against ${range(contrast.second)}`;
}

function responseWords(response: VariableName): string {
  return response === 'outcomeDistance' ? 'draw/follow distance' : quantities[response].label;
}

import type { ComparisonResult, ComparisonSpecification, Contrast } from '../../shared/comparison.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { list, rounded } from '../pooling/figures-in-words.ts';
import { chosen, effectSize, plusMinus } from './effect-words.ts';
import { exactWords, groupingWords } from './match-sides.ts';

export interface SentenceParts {
  readonly specification: ComparisonSpecification;
  readonly pairs: number;
  readonly labs: number;
  /** The figure quoted, with its interval. */
  readonly estimate: number;
  readonly interval: { readonly lower: number; readonly upper: number };
  readonly adjusted: boolean;
  readonly verdict: ComparisonResult['verdict'];
  readonly equivalence: ComparisonResult['equivalence'];
}

/** The whole answer in one sentence: pairs and what was held equal; the contrast; the difference; what it rules out. */
export function verdictSentence(parts: SentenceParts): string {
  const { specification, pairs, labs, estimate, interval, adjusted } = parts;
  const { match, exact, contrast, response, confidence } = specification;
  const held = [
    `${pairs} pairs${labs > 1 ? ` from ${labs} labs` : ''}`,
    ...(exact.length > 0 ? [`same ${list(exactWords(specification))}`] : []),
    ...match.map(({ variable, caliper }) => `${quantities[variable].label} within ${chosen(variable, caliper)}`),
  ].join(', ');
  const difference = plusMinus(response, estimate, (interval.upper - interval.lower) / 2);
  const how = `${rounded(100 * confidence, 4)} % interval${adjusted ? ', adjusted for leftover differences' : ''}`;
  return `${held}; ${contrastWords(contrast)}: ${responseWords(response)} differs by ${difference} (${how}); ${claim(parts)}.`;
}

function claim({ specification, pairs, verdict, equivalence }: SentenceParts): string {
  if (equivalence === null) {
    return 'no margin was declared, so nothing is claimed about the two being equal';
  }
  const { response } = specification;
  const margin = effectSize(response, equivalence.margin.value);
  const words = {
    differentBeyondMargin: `a difference, and larger than the margin of ${margin}`,
    differentWithinMargin: `a difference, but differences over ${margin} are ruled out`,
    equivalent: `differences over ${margin} are ruled out`,
    undecided: undecidedWords(),
    noMargin: '',
  }[verdict];
  if (equivalence.prior) return words;
  const share = Math.floor(100 * equivalence.shareReceivedAfter);
  return `${words}; exploratory, as only ${share} % of these shots were received after the margin was declared`;

  function undecidedWords(): string {
    const { interval, pairsNeeded } = equivalence as NonNullable<typeof equivalence>;
    const ruledOut = effectSize(response, Math.max(Math.abs(interval.lower), Math.abs(interval.upper)));
    const more =
      pairsNeeded !== null && pairsNeeded > pairs
        ? `; about ${pairsNeeded} pairs in all would settle it if there is no difference`
        : '';
    return `undecided: differences over ${ruledOut} are ruled out, but not those down to the margin of ${margin}${more}`;
  }
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

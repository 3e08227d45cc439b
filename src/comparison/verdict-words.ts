import type { Verdict } from '../../shared/comparison-estimates.ts';

const words: Readonly<Record<Verdict, string>> = {
  differentBeyondMargin: 'different, and larger than the margin',
  differentWithinMargin: 'different, but within the margin',
  equivalent: 'equivalent',
  undecided: 'undecided',
  noMargin: '',
};

/** ' (equivalent)' and the like, to go after a figure; nothing without a margin. */
export function verdictWords(verdict: Verdict | null): string {
  const found = verdict === null ? '' : words[verdict];
  return found === '' ? '' : ` (${found})`;
}

/** What pairs from several labs do to the answer. */
import type { Warning } from '../../shared/analysis.ts';
import { list, percent } from '../pooling/figures-in-words.ts';
import { meanOf } from '../statistics/paired-difference.ts';
import { varianceOf } from './balance.ts';
import type { ComparisonFindings } from './comparison-warnings.ts';
import { shown } from './effect-words.ts';

/** A lab whose mean difference is further than this many standard errors from the others is named. */
const apart = 2;

export function labWarnings({ columns, matched, estimates, specification }: ComparisonFindings): Warning[] {
  const { codes, names } = columns.groups.lab;
  const { response } = specification;
  const warnings: Warning[] = [];
  const across = matched.pairs.filter(({ first, second }) => codes[first] !== codes[second]).length;
  if (across > 0) {
    const text = `${percent(across / matched.pairs.length)} of the pairs mix two labs: what differs between labs enters the difference.`;
    warnings.push({ code: 'CROSS_LAB_PAIRS', text });
  }
  const labs = names.flatMap((lab, code) => {
    const own: number[] = [];
    const rest: number[] = [];
    matched.pairs.forEach(({ first, second }, place) => {
      const difference = estimates.differences[place] as number;
      if (codes[first] === code && codes[second] === code) own.push(difference);
      else rest.push(difference);
    });
    return own.length === 0 ? [] : [{ lab, own: Float64Array.from(own), rest: Float64Array.from(rest) }];
  });
  if (labs.length < 2) return warnings;
  const each = labs.map(({ lab, own }) => `${lab} ${shown(response, meanOf(own))} (${own.length} pairs)`);
  const odd = labs.flatMap(({ lab, own, rest }) => {
    const standardError = Math.sqrt(varianceOf(own) / own.length + varianceOf(rest) / rest.length);
    return Math.abs(meanOf(own) - meanOf(rest)) > apart * standardError ? [lab] : [];
  });
  const disagreement =
    odd.length > 0
      ? ` ${list(odd)} ${odd.length > 1 ? 'differ' : 'differs'} from the other labs by more than ${apart} standard errors: do not read the mean as one effect.`
      : '';
  const text = `Pairs come from ${labs.length} labs. The interval counts pairs as independent; where labs truly differ it is too narrow for a statement about labs in general. Mean difference by lab: ${list(each)}.${disagreement}`;
  warnings.push({ code: 'SEVERAL_LABS', text });
  return warnings;
}

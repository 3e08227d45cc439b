/** One matched comparison: pairs, difference, margin and the verdict in the service's own sentence. */
import type { ComparisonResult, Margin } from '../../../shared/comparison.ts';
import { signed } from './numbers.ts';
import { heading, table, wrapped } from './plain-text.ts';
import { warningLines } from './report-contact.ts';

const centimetres = 100;

function differenceRow(name: string, difference: ComparisonResult['raw'] | null): string[] {
  if (difference === null) return [name, '-', '-', '-'];
  const { estimate, standardError, interval } = difference;
  return [
    name,
    signed(estimate * centimetres, 2),
    (standardError * centimetres).toFixed(2),
    `${signed(interval.lower * centimetres, 2)} to ${signed(interval.upper * centimetres, 2)}`,
  ];
}

function countByLab(result: ComparisonResult): string {
  const counts = new Map<string, number>();
  for (const { first } of result.pairs) counts.set(first.lab, (counts.get(first.lab) ?? 0) + 1);
  return [...counts].map(([lab, pairs]) => `${lab} ${pairs}`).join(', ');
}

/**
 * @param title heading of the section
 * @param achieved what the contrast is, with `first` and `second` in place of the two means; unit included
 */
export function reportComparison(title: string, result: ComparisonResult, margin: Margin, unit: string): string[] {
  const achieved = result.contrastAchieved;
  const calipers = result.calipers.map(({ variable, caliper }) => `${variable} within ${caliper}`).join(', ');
  return [
    ...heading(title),
    ...wrapped(
      `${result.pairs.length} pairs (${countByLab(result)}), same lab and set-up, ${calipers} (SI). Outcome distance, positive forwards.${
        achieved === null
          ? ''
          : ` Mean of ${'variable' in result.specification.contrast ? result.specification.contrast.variable : 'the contrast'}: ${signed(achieved.first, 1)} against ${signed(achieved.second, 1)} ${unit}.`
      }`,
    ),
    '',
    ...table(
      ['difference', 'cm', 'std. error', '95 % interval, cm'],
      [
        differenceRow('raw', result.raw),
        differenceRow('adjusted', result.adjusted),
        ...(result.clustered === null ? [] : [differenceRow(`by ${result.clustered.by}`, result.clustered.adjusted)]),
      ],
    ),
    '',
    ...(result.equivalence === null
      ? wrapped('No margin was applied.')
      : wrapped(
          `Margin ${(margin.value * centimetres).toFixed(2)} cm, declared ${
            result.equivalence.prior
              ? 'before any of these shots was received'
              : `late: ${(100 * result.equivalence.shareReceivedAfter).toFixed(0)} % of the shots came after it`
          }. Interval held against it: ${signed(result.equivalence.interval.lower * centimetres, 2)} to ${signed(
            result.equivalence.interval.upper * centimetres,
            2,
          )} cm. Verdict: ${result.verdict}.`,
        )),
    ...wrapped(result.sentence, '  > ', '    '),
    ...warningLines(result.warnings),
  ];
}

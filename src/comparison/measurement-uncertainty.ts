import type { ComparisonResult } from '../../shared/comparison.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { commonPartNames, commonParts, type ShotColumns } from '../pooling/columns.ts';
import { shown } from './effect-words.ts';
import type { MatchedPair } from './match-sides.ts';
import { isUncertain } from './own-uncertainty.ts';

type Measurement = NonNullable<ComparisonResult['measurement']>;
type Contribution = Measurement['contributions'][number];

/**
 * Standard uncertainty of the mean pair difference from measurement alone. Errors of single shots average away; an error
 * that all shots of a rig, cue or table share enters the mean with the sum of its signs, first plus and second minus,
 * so that it cancels where both shots of each pair come from the same one.
 * @param slopes response per unit of each matching variable, SI; null where unknown
 * @returns null when neither response nor matching variables state an uncertainty
 */
export function measurementUncertainty(
  columns: ShotColumns,
  pairs: readonly MatchedPair[],
  response: VariableName,
  matched: readonly VariableName[],
  slopes: readonly (number | null)[],
): Measurement | null {
  const rows: { variable: VariableName; perUnit: number }[] = [
    { variable: response, perUnit: 1 },
    ...matched.flatMap((variable, place) => {
      const slope = slopes[place] ?? null;
      return slope === null ? [] : [{ variable, perUnit: slope }];
    }),
  ];
  const contributions = rows.flatMap(({ variable, perUnit }): Contribution[] => {
    const found = contributionOf(columns, pairs, variable);
    if (found === null) return [];
    const size = Math.abs(perUnit);
    return [
      {
        variable,
        perUnit,
        independent: size * found.independent,
        common: size * found.common,
        uncancelled: size * found.uncancelled,
      },
    ];
  });
  if (contributions.length === 0) return null;
  const together = (of: (each: Contribution) => number): number =>
    Math.sqrt(contributions.reduce((sum, each) => sum + of(each) * of(each), 0));
  const independent = together((each) => each.independent);
  const common = together((each) => each.common);
  const uncancelled = together((each) => each.uncancelled);
  const standardUncertainty = Math.sqrt(independent * independent + common * common);
  const shared =
    uncancelled === 0
      ? 'no error that several shots share is stated'
      : common < 1e-9 * uncancelled
        ? `errors that all shots of a rig, cue or table share cancel within pairs (else ${shown(response, uncancelled)})`
        : `${shown(response, common)} from errors that shots of a rig, cue or table share (${shown(response, uncancelled)} if none of them cancelled within pairs), which the spread of the pairs does not show`;
  return {
    unit: quantities[response].siUnit,
    contributions,
    independent,
    common,
    standardUncertainty,
    sentence: `Measurement alone gives the mean difference a standard uncertainty of ${shown(response, standardUncertainty)}: ${shown(response, independent)} from errors of single shots, which the spread of the pairs contains; ${shared}.`,
  };
}

/** In the unit of the variable. Shots that state no uncertainty are taken to be like those that do. */
function contributionOf(
  columns: ShotColumns,
  pairs: readonly MatchedPair[],
  variable: VariableName,
): Omit<Contribution, 'variable' | 'perUnit'> | null {
  if (!isUncertain(variable)) return null;
  const total = columns.uncertainties[variable];
  const parts = commonPartNames
    .filter((name) => commonParts[name].of === variable)
    .map((name) => ({ values: columns.commonUncertainties[name], codes: columns.groups[commonParts[name].to].codes }));
  let squares = 0;
  let known = 0;
  for (const { first, second } of pairs) {
    for (const row of [first, second]) {
      const whole = total[row] as number;
      if (Number.isNaN(whole)) continue;
      let own = whole * whole;
      for (const { values } of parts) {
        const part = values[row] as number;
        if (part > 0) own -= part * part;
      }
      squares += Math.max(0, own);
      known += 1;
    }
  }
  if (known === 0) return null;
  const n = pairs.length;
  let common = 0;
  let uncancelled = 0;
  for (const { values, codes } of parts) {
    const signed = new Map<number, number>();
    const sides = [new Map<number, number>(), new Map<number, number>()] as const;
    for (const { first, second } of pairs) {
      [first, second].forEach((row, side) => {
        const part = values[row] as number;
        if (!(part > 0)) return;
        const code = codes[row] as number;
        signed.set(code, (signed.get(code) ?? 0) + (side === 0 ? part : -part));
        const own = sides[side] as Map<number, number>;
        own.set(code, (own.get(code) ?? 0) + part);
      });
    }
    for (const sum of signed.values()) common += (sum / n) * (sum / n);
    for (const own of sides) for (const sum of own.values()) uncancelled += (sum / n) * (sum / n);
  }
  return {
    independent: Math.sqrt((2 * squares) / known / n),
    common: Math.sqrt(common),
    uncancelled: Math.sqrt(uncancelled),
  };
}

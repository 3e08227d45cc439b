import type { ComparisonSpecification } from '../../shared/comparison.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { type LeftOut, type MissingValues, selectShots } from '../pooling/select-shots.ts';
import { type ContrastSides, contrastSides } from './contrast-sides.ts';
import { groupingWords } from './exact-keys.ts';
import { isUncertain } from './own-uncertainty.ts';

export interface DividedShots {
  readonly sides: ContrastSides;
  readonly leftOut: readonly LeftOut[];
  readonly missing: readonly MissingValues[];
  /** Shots that meet filter and flags, whether or not a value is missing. */
  readonly eligible: number;
}

/** Selects the shots that can take part and puts them on their sides. */
export function divideShots(
  columns: ShotColumns,
  { filter, contrast, response, match, exact }: ComparisonSpecification,
): DividedShots {
  const needed: VariableName[] = [response, ...match.map(({ variable }) => variable)];
  if (contrast.kind !== 'grouping') needed.push(contrast.variable);
  const { indices, leftOut, missing } = selectShots(columns, filter, needed);
  const eligible = indices.length + missing.reduce((sum, { shots }) => sum + shots, 0);
  const tests = [
    ...exact.map((name) => ({
      reason: `no ${groupingWords[name]} known${name === 'setUp' ? ': give the shot a table' : ''}`,
      isAbsent: (row: number) => (columns.groups[name].codes[row] as number) < 0,
      shots: 0,
    })),
    ...match.flatMap(({ variable, caliper }) => {
      if (typeof caliper !== 'object' || !('combinedUncertainties' in caliper) || !isUncertain(variable)) return [];
      const uncertainties = columns.uncertainties[variable];
      return [
        {
          reason: `no uncertainty of ${quantities[variable].label} stated`,
          isAbsent: (row: number) => Number.isNaN(uncertainties[row] as number),
          shots: 0,
        },
      ];
    }),
  ];
  const rows = indices.filter((row) => {
    const failed = tests.find(({ isAbsent }) => isAbsent(row));
    if (failed !== undefined) failed.shots += 1;
    return failed === undefined;
  });
  const sides = contrastSides(columns, rows, contrast);
  return {
    sides,
    leftOut: [
      ...leftOut,
      ...tests.map(({ reason, shots }) => ({ reason, shots })),
      { reason: 'on neither side of the contrast', shots: sides.neither },
    ].filter(({ shots }) => shots > 0),
    missing,
    eligible,
  };
}

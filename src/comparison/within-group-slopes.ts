import type { ComparisonSpecification } from '../../shared/comparison.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { pairedLeastSquares } from '../statistics/paired-least-squares.ts';
import type { ContrastSides } from './contrast-sides.ts';
import { exactKeys } from './exact-keys.ts';
import type { ResolvedCaliper } from './resolve-calipers.ts';

/**
 * How much the response changes per unit of each matching variable among shots of one side and one exact group: least
 * squares on deviations from the means of (side, group), all shots of both sides. For judging what a leftover
 * difference is worth, not for inference.
 * @returns one slope a matching variable, SI; null when the shots do not tell
 */
export function withinGroupSlopes(
  columns: ShotColumns,
  sides: ContrastSides,
  calipers: readonly ResolvedCaliper[],
  { exact, response }: Pick<ComparisonSpecification, 'exact' | 'response'>,
): readonly (number | null)[] {
  const keys = exactKeys(columns, exact);
  const rows = [...sides.first, ...sides.second];
  // Two cells a group, one a side.
  const cells = rows.map((row, place) => 2 * keys(row) + (place < sides.first.length ? 0 : 1));
  const count = cells.reduce((most, cell) => Math.max(most, cell), -1) + 1;
  if (rows.length - new Set(cells).size - calipers.length < 2) return calipers.map(() => null);
  const deviations = (values: Float64Array): Float64Array => {
    const sums = new Float64Array(count);
    const sizes = new Float64Array(count);
    rows.forEach((row, place) => {
      const cell = cells[place] as number;
      sums[cell] = (sums[cell] as number) + (values[row] as number);
      sizes[cell] = (sizes[cell] as number) + 1;
    });
    return Float64Array.from(rows, (row, place) => {
      const cell = cells[place] as number;
      return (values[row] as number) - (sums[cell] as number) / (sizes[cell] as number);
    });
  };
  const { slopes } = pairedLeastSquares(
    deviations(columns.variables[response]),
    calipers.map(({ variable }) => deviations(columns.variables[variable])),
    calipers.map(({ scale }) => scale),
  );
  return slopes;
}

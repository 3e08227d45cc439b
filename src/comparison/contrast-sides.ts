import type { Contrast } from '../../shared/comparison.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { compareCodeUnits } from '../pooling/compare-code-units.ts';

/** Rows of the columns on each side, both in the order (lab slug, label), so that ties of matching fall one way. */
export interface ContrastSides {
  readonly first: Int32Array;
  readonly second: Int32Array;
  readonly neither: number;
}

/** Divides rows by the contrast. Rows on neither side, or on the shared end of two ranges, are only counted. */
export function contrastSides(columns: ShotColumns, rows: Int32Array, contrast: Contrast): ContrastSides {
  const sideOf = sideTest(columns, contrast);
  const first: number[] = [];
  const second: number[] = [];
  let neither = 0;
  for (const row of rows) {
    const side = sideOf(row);
    if (side > 0) first.push(row);
    else if (side < 0) second.push(row);
    else neither += 1;
  }
  return { first: inOrder(columns, first), second: inOrder(columns, second), neither };
}

/** Where a numeric contrast changes sides, or null: a measured value near it may be on the wrong side. */
export function contrastBoundary(contrast: Contrast): number | null {
  if (contrast.kind === 'sign') return 0;
  return contrast.kind === 'threshold' ? contrast.at : null;
}

function sideTest(columns: ShotColumns, contrast: Contrast): (row: number) => number {
  if (contrast.kind === 'grouping') {
    const { codes, names } = columns.groups[contrast.grouping];
    const first = names.indexOf(contrast.first);
    const second = names.indexOf(contrast.second);
    return (row) => {
      const code = codes[row] as number;
      if (code < 0) return 0;
      return code === first ? 1 : code === second ? -1 : 0;
    };
  }
  const values = columns.variables[contrast.variable];
  if (contrast.kind === 'ranges') {
    const { first, second } = contrast;
    return (row) => {
      const value = values[row] as number;
      const inFirst = value >= first[0] && value <= first[1];
      const inSecond = value >= second[0] && value <= second[1];
      return Number(inFirst) - Number(inSecond);
    };
  }
  const boundary = contrast.kind === 'threshold' ? contrast.at : 0;
  return (row) => Math.sign((values[row] as number) - boundary);
}

function inOrder({ groups, labels, ordinals }: ShotColumns, rows: number[]): Int32Array {
  const { codes, names } = groups.lab;
  const slug = (row: number): string => names[codes[row] as number] ?? '';
  rows.sort(
    (a, b) =>
      compareCodeUnits(slug(a), slug(b)) ||
      compareCodeUnits(labels[a] as string, labels[b] as string) ||
      (ordinals[a] as number) - (ordinals[b] as number),
  );
  return Int32Array.from(rows);
}

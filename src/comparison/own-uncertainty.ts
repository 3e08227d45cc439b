/** Standard uncertainties of single shots, without the errors that the shots of an exact group share. */
import type { GroupingName, VariableName } from '../../shared/quantities.ts';
import {
  commonPartNames,
  commonParts,
  type ShotColumns,
  type UncertainName,
  uncertainNames,
} from '../pooling/columns.ts';
import { exactKeys } from './exact-keys.ts';

export function isUncertain(variable: VariableName): variable is UncertainName {
  return (uncertainNames as readonly string[]).includes(variable);
}

/**
 * What matters for the difference within a pair: an error that is one and the same for all shots of a rig, cue or table
 * cancels where both shots come from it. A carrier counts as shared when every exact group has a single one.
 * @param rows shots that may be paired
 * @returns the standard uncertainty of a row, SI; NaN where none is stated. Null for variables that carry none.
 */
export function ownUncertainty(
  columns: ShotColumns,
  rows: Iterable<number>,
  exact: readonly GroupingName[],
  variable: VariableName,
): ((row: number) => number) | null {
  if (!isUncertain(variable)) return null;
  const total = columns.uncertainties[variable];
  const listed = [...rows];
  const shared = commonPartNames.filter((name) => {
    const { of, to } = commonParts[name];
    return of === variable && isHeld(columns, listed, exact, to);
  });
  const parts = shared.map((name) => columns.commonUncertainties[name]);
  return (row) => {
    const whole = total[row] as number;
    let rest = whole * whole;
    for (const part of parts) {
      const common = part[row] as number;
      if (common > 0) rest -= common * common;
    }
    return Number.isNaN(whole) ? Number.NaN : Math.sqrt(Math.max(0, rest));
  };
}

/** Whether all shots of an exact group have the same rig, cue or table. */
function isHeld(
  columns: ShotColumns,
  rows: readonly number[],
  exact: readonly GroupingName[],
  carrier: GroupingName,
): boolean {
  const keyOf = exactKeys(columns, exact);
  const { codes } = columns.groups[carrier];
  const only = new Map<number, number>();
  for (const row of rows) {
    const key = keyOf(row);
    const code = codes[row] as number;
    if (code < 0 || (only.get(key) ?? code) !== code) return false;
    only.set(key, code);
  }
  return true;
}

/** Root mean square over the rows that state one; null when none does. */
export function typicalUncertainty(of: ((row: number) => number) | null, rows: Iterable<number>): number | null {
  if (of === null) return null;
  let squares = 0;
  let known = 0;
  for (const row of rows) {
    const value = of(row);
    if (Number.isNaN(value)) continue;
    squares += value * value;
    known += 1;
  }
  return known === 0 ? null : Math.sqrt(squares / known);
}

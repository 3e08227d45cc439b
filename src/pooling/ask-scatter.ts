/** Use case: shots of a scope counted in a grid over two variables. */
import type { Filter } from '../../shared/analysis.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { requireScope } from '../access/visibility.ts';
import type { Database } from '../store/database.ts';
import { countCells, type GridCell } from './count-cells.ts';
import { currentColumns } from './current-columns.ts';
import { type LeftOut, selectShots } from './select-shots.ts';

export interface ScatterQuestion {
  readonly x: VariableName;
  readonly y: VariableName;
  /** Number of cells along each axis. */
  readonly columns: number;
  readonly rows: number;
  readonly filter: Filter;
  readonly scope: string;
}

export interface Scatter {
  readonly x: VariableName;
  readonly y: VariableName;
  /** UCUM codes. */
  readonly xUnit: string;
  readonly yUnit: string;
  readonly shots: number;
  readonly leftOut: readonly LeftOut[];
  readonly cells: readonly GridCell[];
}

/** @throws Refusal unauthenticated, not-found (scope) */
export async function askScatter(db: Database, principal: Principal, question: ScatterQuestion): Promise<Scatter> {
  permit(principal, 'readShared');
  const scope = requireScope(principal, question.scope);
  const columns = await currentColumns(db, scope);
  const { x, y } = question;
  const { indices, leftOut } = selectShots(columns, question.filter, x === y ? [x] : [x, y]);
  return {
    x,
    y,
    xUnit: quantities[x].siUnit,
    yUnit: quantities[y].siUnit,
    shots: indices.length,
    leftOut,
    cells: countCells(columns, indices, question),
  };
}

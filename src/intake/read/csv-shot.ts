/** One row of a CSV as a shot. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import { readCsvCell, withoutBlanks } from './csv-cell.ts';
import type { CsvColumn } from './csv-header.ts';
import { completeTipHeight } from './csv-tip-height.ts';
import type { SentShot } from './sent-shot.ts';

function place(shot: Record<string, unknown>, path: readonly string[], value: unknown): void {
  const [key, ...rest] = path;
  if (key === undefined) return;
  if (rest.length === 0) {
    shot[key] = value;
    return;
  }
  const inner = shot[key] ?? {};
  shot[key] = inner;
  place(inner as Record<string, unknown>, rest, value);
}

/**
 * @param row number of the row in the file, the header being 1
 * @param cells one cell a column; an empty cell means not given
 */
export function readCsvShot(
  position: number,
  row: number,
  columns: readonly CsvColumn[],
  cells: readonly string[],
): SentShot {
  const faults: Fault[] = [];
  const shot: Record<string, unknown> = {};
  const given: CsvColumn[] = [];
  const surplus = cells.slice(columns.length).find((cell) => cell.trim() !== '');
  if (surplus !== undefined || cells.length < columns.length) {
    const sent = `${cells.length} cells`;
    faults.push(fault('structure-invalid', '', sent, `${columns.length} cells, as in the header row`));
  }
  for (const [index, column] of columns.entries()) {
    const written = cells[index] ?? '';
    const cell = withoutBlanks(written);
    if (cell === '') continue;
    given.push(column);
    // A note stays as it was written; blanks around anything else mean nothing.
    const read = readCsvCell(column.pointer === '/note' ? written : cell, column);
    if ('fault' in read) faults.push(read.fault);
    else place(shot, column.path, read.value);
  }
  const missing = completeTipHeight(shot, given);
  if (missing !== null) faults.push(missing);
  return { position, row, columns, value: shot, faults };
}

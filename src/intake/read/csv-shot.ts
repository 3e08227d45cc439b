/** One row of a CSV as a shot. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import { readCsvCell } from './csv-cell.ts';
import type { CsvColumn } from './csv-header.ts';
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

/** A plain contact height needs no method column. */
function completeTipHeight(shot: Record<string, unknown>): void {
  const reading = shot.tipHeight as { method?: unknown; height?: unknown } | undefined;
  if (reading !== undefined && reading.method === undefined && reading.height !== undefined) {
    reading.method = 'contactMark';
  }
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
  const surplus = cells.slice(columns.length).find((cell) => cell.trim() !== '');
  if (surplus !== undefined || cells.length < columns.length) {
    const sent = `${cells.length} cells`;
    faults.push(fault('structure-invalid', '', sent, `${columns.length} cells, as in the header row`));
  }
  for (const [index, column] of columns.entries()) {
    const cell = cells[index] ?? '';
    if (cell === '') continue;
    const read = readCsvCell(cell, column);
    if ('fault' in read) faults.push(read.fault);
    else place(shot, column.path, read.value);
  }
  completeTipHeight(shot);
  return { position, row, columns, value: shot, faults };
}

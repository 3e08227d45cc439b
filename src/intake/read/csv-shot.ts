/** One row of a CSV as a shot. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import { readCsvCell, withoutBlanks } from './csv-cell.ts';
import type { CsvColumn } from './csv-header.ts';
import { completeTipHeight, methodFitting } from './csv-tip-height.ts';
import type { DecimalMarks } from './decimal-marks.ts';
import type { CsvRow } from './sent-shot.ts';

type Fields = Record<string, unknown>;

/** A key that is a number makes a list; members before it that say nothing are empty objects. */
function place(holder: Fields | Fields[], path: readonly string[], value: unknown): void {
  const [key, next, ...rest] = path;
  if (key === undefined) return;
  if (Array.isArray(holder)) {
    while (holder.length <= Number(key)) holder.push({});
  }
  const fields = holder as Fields;
  if (next === undefined) {
    fields[key] = value;
    return;
  }
  fields[key] ??= /^\d+$/.test(next) ? [] : {};
  place(fields[key] as Fields, [next, ...rest], value);
}

/** What was read says how it was read. */
function completeRepeat({ tipHeight }: Fields): void {
  const reading = tipHeight as Fields | undefined;
  if (reading === undefined || reading.method !== undefined) return;
  const method = methodFitting(Object.keys(reading));
  if (method !== null) reading.method = method;
}

/**
 * @param row number of the row in the file, the header being 1
 * @param cells one cell a column; an empty cell means not given
 * @param marks of the file
 */
export function readCsvShot(
  position: number,
  row: number,
  columns: readonly CsvColumn[],
  cells: readonly string[],
  marks: DecimalMarks,
): CsvRow {
  const faults: Fault[] = [];
  const value: Fields = {};
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
    const read = readCsvCell(column.pointer === '/note' ? written : cell, column, marks);
    if ('fault' in read) faults.push(read.fault);
    else place(value, column.path, read.value);
  }
  const { tracks = [], ...shot } = value;
  const missing = completeTipHeight(shot, given);
  if (missing !== null) faults.push(missing);
  for (const repeat of (shot.repeats as Fields[] | undefined) ?? []) completeRepeat(repeat);
  return { shot: { position, row, columns, value: shot, faults }, tracks: tracks as string[] };
}

/** From a pointer into the shot to the place that its sender looks for. */
import type { Fault } from '../../../shared/problems.ts';
import { csvColumns } from './csv-columns.ts';
import type { CsvColumn } from './csv-header.ts';
import type { SentPlace } from './sent-shot.ts';

const inside = (outer: string, inner: string): boolean => inner === outer || inner.startsWith(`${outer}/`);

/** Column of a pointer: the one that fills it, or the name of the column that would; null for the whole row. */
function columnOf(pointer: string, columns: readonly CsvColumn[]): string | null {
  if (pointer === '') return null;
  const sent =
    columns.find((column) => inside(column.pointer, pointer)) ??
    columns.find((column) => inside(pointer, column.pointer));
  if (sent !== undefined) return sent.header;
  const known = Object.entries(csvColumns).find(([, { path }]) => inside(`/${path.join('/')}`, pointer));
  return known?.[0] ?? null;
}

/** The fault with row and column (CSV), line and pointer (NDJSON) or pointer alone (JSON). */
export function locate(fault: Fault, { row, columns }: SentPlace): Fault {
  if (columns === null) return { ...fault, row };
  return { ...fault, pointer: null, row, column: columnOf(fault.pointer ?? '', columns) };
}

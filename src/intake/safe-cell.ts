/**
 * Cells of a table that a spreadsheet may open: text that somebody sent must not run as a formula there. Such text gets
 * an apostrophe in front, which spreadsheets take as "this is text"; numbers, negative ones too, stay as they are.
 */

const startsFormula = /^[=+\-@\t\r]/;
const plainNumber = /^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?$/i;

export type TableCell = string | number | boolean | null;

export function safeCell(cell: TableCell): string {
  if (cell === null) return '';
  if (typeof cell !== 'string') return String(cell);
  return startsFormula.test(cell) && !plainNumber.test(cell) ? `'${cell}` : cell;
}

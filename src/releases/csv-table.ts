/**
 * The CSV dialect of format 1: RFC 4180 quoting, UTF-8, LF line ends, one header line. A number is the shortest text
 * that reads back to the same double (what JavaScript prints); a missing value is an empty cell.
 */
import { parse } from 'csv-parse/sync';
import { stringify } from 'csv-stringify/sync';
import type { Limits } from '../../shared/quantities.ts';

export type Cell = string | number | boolean | null;

export interface TableColumn<Row> {
  readonly name: string;
  readonly meaning: string;
  /** UCUM code; '' when the column has no unit. */
  readonly unit: string;
  readonly type: 'string' | 'number' | 'integer' | 'boolean' | 'date';
  readonly required: boolean;
  readonly limits: Limits | null;
  readonly allowed: readonly string[] | null;
  readonly cell: (row: Row) => Cell;
}

export interface Table<Row> {
  readonly file: string;
  readonly title: string;
  readonly columns: readonly TableColumn<Row>[];
  readonly primaryKey: readonly string[];
}

/** A column with the usual answers filled in. */
export function column<Row>(
  name: string,
  type: TableColumn<Row>['type'],
  meaning: string,
  cell: (row: Row) => Cell,
  more: Partial<Pick<TableColumn<Row>, 'unit' | 'required' | 'limits' | 'allowed'>> = {},
): TableColumn<Row> {
  return { name, type, meaning, cell, unit: '', required: false, limits: null, allowed: null, ...more };
}

/** Text of one cell. Throws on a number that is not finite: a table holds none. */
export function cellText(cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'number' && !Number.isFinite(cell)) throw new RangeError('a table holds only finite numbers');
  return String(cell);
}

/** The cells of one row as text, in column order. */
export function rowTexts<Row>(table: Table<Row>, row: Row): string[] {
  return table.columns.map((each) => cellText(each.cell(row)));
}

/** Rows turned into text at a time: a long table is never one string, whose length has a limit. */
const rowsAtOnce = 20_000;

export function renderTable<Row>(table: Table<Row>, rows: Iterable<Row>): Uint8Array {
  const encoder = new TextEncoder();
  const parts: Uint8Array[] = [];
  let records: string[][] = [table.columns.map((each) => each.name)];
  const flush = () => {
    parts.push(encoder.encode(stringify(records, { record_delimiter: '\n' })));
    records = [];
  };
  for (const row of rows) {
    records.push(rowTexts(table, row));
    if (records.length === rowsAtOnce) flush();
  }
  flush();
  return new Uint8Array(Buffer.concat(parts));
}

/** Header and rows of a CSV file of format 1. Throws when the text is not UTF-8 or not rectangular CSV. */
export function readTable(bytes: Uint8Array): { header: string[]; rows: string[][] } {
  const text = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  const records = parse(text, { record_delimiter: '\n', relax_column_count: false }) as string[][];
  const [header = [], ...rows] = records;
  return { header, rows };
}

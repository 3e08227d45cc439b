/** The header row of a CSV: which column fills what, in which unit. */

import { fault, pointerOf } from '../../../shared/fault.ts';
import type { Fault, RowProblemCode } from '../../../shared/problems.ts';
import { quantities } from '../../../shared/quantities.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { lookUpUnit } from '../../../shared/units.ts';
import { type ColumnDefinition, type ColumnTable, columnOf } from './column-definition.ts';
import { csvColumns } from './csv-columns.ts';

export interface CsvColumn extends ColumnDefinition {
  /** The header as written; faults name it. */
  readonly header: string;
  readonly pointer: string;
  /** Unit code of a measure, '' for others. */
  readonly unit: string;
}

type Read = { readonly column: CsvColumn } | { readonly fault: Fault };

const nearby = (header: string, table: ColumnTable): string => {
  const stem = header.toLowerCase().split(/[^a-z]/)[0] ?? '';
  const similar = Object.keys(table).filter((name) => stem.length > 2 && name.includes(stem));
  return similar.length > 0 ? `one of ${similar.join(', ')}` : `one of ${Object.keys(table).join(', ')}`;
};

function refuse(header: string, code: RowProblemCode, expected: string, remedy?: string): Read {
  return { fault: { ...fault(code, '', header, expected, remedy), pointer: null, row: 1, column: header } };
}

function withUnit(header: string, definition: ColumnDefinition, name: string, unit: string | null): Read {
  const pointer = pointerOf(definition.path);
  const { quantity } = definition;
  if (quantity === undefined) {
    if (unit === null) return { column: { ...definition, header, pointer, unit: '' } };
    return refuse(header, 'structure-invalid', name, 'Leave the unit out: this column holds no measure.');
  }
  const { dimension, siUnit } = quantities[quantity];
  const written = unit ?? (dimension === 'one' ? siUnit : null);
  if (written === null) {
    return refuse(header, 'unit-unknown', `${name}[${siUnit}]`, 'Write the unit into the header, in brackets.');
  }
  const known = lookUpUnit(written, quantity);
  if (!known.ok) return refuse(header, known.code, known.expected, known.remedy);
  return { column: { ...definition, header, pointer, unit: known.code } };
}

/** name[unit], name, or name_unit; the unit may itself hold brackets, as in tip_height[[in_i]]. */
function readHeader(header: string, table: ColumnTable): Read {
  const open = header.indexOf('[');
  const close = header.lastIndexOf(']');
  if (open > 0 && close === header.length - 1) {
    const name = header.slice(0, open).trim();
    const definition = columnOf(table, name);
    if (definition === undefined) return refuse(header, 'structure-invalid', nearby(name, table));
    return withUnit(header, definition, name, header.slice(open + 1, close).trim());
  }
  const exact = columnOf(table, header);
  if (exact !== undefined) return withUnit(header, exact, header, null);
  const suffixed = Object.entries(table)
    .filter(([name, { quantity }]) => quantity !== undefined && header.startsWith(`${name}_`))
    .sort(([one], [other]) => other.length - one.length)
    .map(([name, definition]) => withUnit(header, definition, name, header.slice(name.length + 1)));
  const unknown = refuse(header, 'structure-invalid', nearby(header, table));
  return suffixed.find((read) => 'column' in read) ?? suffixed[0] ?? unknown;
}

/**
 * Columns of a header row. Empty headers at the end are dropped.
 *
 * @throws Refusal request-invalid with every unknown, repeated or unit-less column, at row 1
 */
export function readCsvHeader(cells: readonly string[], table: ColumnTable = csvColumns): readonly CsvColumn[] {
  const headers = cells.map((cell) => cell.trim());
  while (headers.at(-1) === '') headers.pop();
  const faults: Fault[] = [];
  const columns: CsvColumn[] = [];
  const taken = new Map<string, string>();
  for (const header of headers) {
    const read = readHeader(header, table);
    if ('fault' in read) {
      faults.push(read.fault);
      continue;
    }
    const earlier = taken.get(read.column.pointer);
    if (earlier !== undefined) {
      const twice = refuse(
        header,
        'structure-invalid',
        'each column once',
        `It says the same as ${earlier}: keep one.`,
      );
      if ('fault' in twice) faults.push(twice.fault);
    }
    taken.set(read.column.pointer, header);
    columns.push(read.column);
  }
  if (columns.length === 0 && faults.length === 0) throw new Refusal('request-invalid', 'The CSV has no header row.');
  if (faults.length > 0) throw new Refusal('request-invalid', 'The header row of the CSV is not valid.', { faults });
  return columns;
}

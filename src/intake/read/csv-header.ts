/** The header row of a CSV: which column fills what, in which unit. */

import { fault, pointerOf } from '../../../shared/fault.ts';
import type { Fault, RowProblemCode } from '../../../shared/problems.ts';
import { quantities } from '../../../shared/quantities.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { lookUpUnit } from '../../../shared/units.ts';
import { type ColumnDefinition, type ColumnTable, columnOf } from './column-definition.ts';
import { csvColumns, trackColumns } from './csv-columns.ts';
import { asName, suggestColumns } from './suggest-columns.ts';

export interface CsvColumn extends ColumnDefinition {
  /** The header as written; faults name it. */
  readonly header: string;
  readonly pointer: string;
  /** Unit code of a measure, '' for others. */
  readonly unit: string;
}

type Read = { readonly column: CsvColumn } | { readonly fault: Fault };

function refuse(header: string, code: RowProblemCode, expected: string, remedy?: string): Read {
  return { fault: { ...fault(code, '', header, expected, remedy), pointer: null, row: 1, column: header } };
}

const templateOf = (table: ColumnTable): string => `/v1/templates/${table === trackColumns ? 'tracks' : 'shots'}.csv`;

/** A name that no column has: says which ones it may have been meant for, with the unit as it should be written. */
function unknown(header: string, table: ColumnTable): Read {
  const [name = '', unit = ''] = header.split(/[[(]/).map((part) => part.replace(/[\])]\s*$/, '').trim());
  const suggested = suggestColumns(name, table);
  const [first] = suggested;
  const column = first === undefined ? undefined : columnOf(table, first);
  const template = `${templateOf(table)} has every column, and /v1/templates explains each.`;
  if (column === undefined || first === undefined) {
    return refuse(
      header,
      'structure-invalid',
      'a name of the template',
      `Rename the column or leave it out: ${template}`,
    );
  }
  const { quantity } = column;
  const written =
    quantity === undefined ? first : `${first}[${lookUpUnit(unit, quantity).ok && unit !== '' ? unit : column.unit}]`;
  const remedy = `If it is that, write ${written}; else leave the column out: ${template}`;
  return refuse(header, 'structure-invalid', `a name of the template, such as ${suggested.join(', ')}`, remedy);
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
    const example = `${name}[${definition.unit}]`;
    return refuse(header, 'unit-unknown', example, `Write the unit into the header, in brackets: ${example}.`);
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
    const name = asName(header.slice(0, open).trim());
    const definition = columnOf(table, name);
    if (definition === undefined) return unknown(header, table);
    return withUnit(header, definition, name, header.slice(open + 1, close).trim());
  }
  const whole = asName(header);
  const exact = columnOf(table, whole);
  if (exact !== undefined) return withUnit(header, exact, whole, null);
  const suffixed = Object.entries(table)
    .filter(([name, { quantity }]) => quantity !== undefined && whole.startsWith(`${name}_`))
    .sort(([one], [other]) => other.length - one.length)
    .map(([name, definition]) => withUnit(header, definition, name, header.slice(name.length + 1)));
  // A suffix that is no unit is a name that is not known: tip_height_left.
  return suffixed.find((read) => 'column' in read) ?? unknown(header, table);
}

function unnamed(number: number): Read {
  const header = `column ${number}`;
  return refuse(header, 'structure-invalid', 'a name in every column', 'Give the column a name, or take it out.');
}

/** What stands where the names of the columns should, when none of it is one. */
function refuseHeader(headers: readonly string[], table: ColumnTable): Refusal {
  const expected = `the names of the columns, such as ${Object.keys(table).slice(0, 2).join(', ')}`;
  const [first = ''] = headers;
  const remedy = first.startsWith('sep=')
    ? `Take the line ${first} out: the separator is found without it.`
    : `The first row must hold the names of the columns, with commas, semicolons or tabs between them: take out what stands above them, or begin from ${templateOf(table)}.`;
  const wrong = fault('structure-invalid', '', headers.join(', '), expected, remedy);
  return new Refusal('request-invalid', 'The first row of the CSV is not a header row.', {
    faults: [{ ...wrong, pointer: null, row: 1, column: null }],
  });
}

/**
 * Columns of a header row. Capitals and blanks in names mean nothing, and empty headers at the end are dropped.
 *
 * @throws Refusal request-invalid with every unknown, unnamed, repeated or unit-less column, at row 1
 */
export function readCsvHeader(cells: readonly string[], table: ColumnTable = csvColumns): readonly CsvColumn[] {
  const headers = cells.map((cell) => cell.trim());
  while (headers.at(-1) === '') headers.pop();
  const faults: Fault[] = [];
  const columns: CsvColumn[] = [];
  const taken = new Map<string, string>();
  for (const [index, header] of headers.entries()) {
    const read = header === '' ? unnamed(index + 1) : readHeader(header, table);
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
  if (columns.length === 0) throw refuseHeader(headers, table);
  if (faults.length > 0) throw new Refusal('request-invalid', 'The header row of the CSV is not valid.', { faults });
  return columns;
}

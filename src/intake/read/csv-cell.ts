/** One cell of a CSV: strict, so that nothing becomes a number by accident. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { CsvColumn } from './csv-header.ts';

const numberSyntax = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,4})?$/;
const integerSyntax = /^[+-]?\d{1,15}$/;
const booleans: ReadonlyMap<string, boolean> = new Map([
  ['true', true],
  ['yes', true],
  ['false', false],
  ['no', false],
]);

export type CellValue = { readonly value: unknown } | { readonly fault: Fault };

/** The cell without the spaces and tabs that stand around it, as after a comma. */
export function withoutBlanks(cell: string): string {
  return cell.replace(/^[ \t]+|[ \t]+$/g, '');
}

/** A finite number, or null; refuses '', '1e400', '1,5', '0x10', 'NaN'. */
export function strictNumber(cell: string): number | null {
  if (!numberSyntax.test(cell)) return null;
  const value = Number(cell);
  return Number.isFinite(value) ? value : null;
}

function readNumber(cell: string, pointer: string): CellValue {
  const value = strictNumber(cell);
  if (value !== null) return { value };
  if (numberSyntax.test(cell) || /^[+-]?(nan|inf(inity)?)$/i.test(cell.trim())) {
    return { fault: fault('value-not-finite', pointer, cell, 'a finite number, or an empty cell') };
  }
  const remedy = cell.includes(',')
    ? 'Write numbers with a decimal point, not a comma.'
    : 'Write the number alone; its unit stands in the header.';
  return { fault: fault('structure-invalid', pointer, cell, 'a number such as -1.25 or 3e-4', remedy) };
}

/** The value of a cell that is not empty, without blanks around it. */
export function readCsvCell(cell: string, column: CsvColumn): CellValue {
  switch (column.kind) {
    case 'text':
      return { value: cell };
    case 'words':
      return { value: cell.split(' ').filter((word) => word !== '') };
    case 'number':
      return readNumber(cell, column.pointer);
    case 'integer':
      if (integerSyntax.test(cell)) return { value: Number(cell) };
      return { fault: fault('structure-invalid', column.pointer, cell, 'a whole number') };
    case 'boolean': {
      const value = booleans.get(cell.toLowerCase());
      if (value !== undefined) return { value };
      return { fault: fault('structure-invalid', column.pointer, cell, 'true or false') };
    }
    case 'measure': {
      const read = readNumber(cell, column.pointer);
      return 'fault' in read ? read : { value: { value: read.value, unit: column.unit } };
    }
  }
}

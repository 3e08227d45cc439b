/** One cell of a CSV: strict, so that nothing becomes a number by accident. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { CsvColumn } from './csv-header.ts';
import type { DecimalMarks } from './decimal-marks.ts';

/** A whole number; programs that know missing values write 34.0 for 34. */
const integerSyntax = /^[+-]?\d{1,15}(?:\.0)?$/;
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

function readNumber(cell: string, pointer: string, marks: DecimalMarks): CellValue {
  const read = marks.read(cell);
  if (read.ok) return { value: read.value };
  if (!read.finite) return { fault: fault('value-not-finite', pointer, cell, 'a finite number, or an empty cell') };
  return { fault: fault('structure-invalid', pointer, cell, 'a number such as -1.25 or 3e-4', read.remedy) };
}

/** The value of a cell that is not empty. */
export function readCsvCell(cell: string, column: CsvColumn, marks: DecimalMarks): CellValue {
  switch (column.kind) {
    case 'text':
      return { value: cell };
    case 'words':
      return { value: cell.split(' ').filter((word) => word !== '') };
    case 'number':
      return readNumber(cell, column.pointer, marks);
    case 'integer':
      if (integerSyntax.test(cell)) return { value: Number(cell) };
      return { fault: fault('structure-invalid', column.pointer, cell, 'a whole number') };
    case 'boolean': {
      const value = booleans.get(cell.toLowerCase());
      if (value !== undefined) return { value };
      return { fault: fault('structure-invalid', column.pointer, cell, 'true, false, yes or no') };
    }
    case 'measure': {
      const read = readNumber(cell, column.pointer, marks);
      return 'fault' in read ? read : { value: { value: read.value, unit: column.unit } };
    }
  }
}

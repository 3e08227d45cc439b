/** codebook.csv: what every column and every flag means. */
import { flagNames, flags } from '../../shared/flags.ts';
import { column, type Table } from './csv-table.ts';
import { derivedTable } from './derived-table.ts';
import { shotsTable } from './shots-table.ts';
import { tracksTable } from './tracks-table.ts';

interface CodebookRow {
  readonly file: string;
  readonly name: string;
  readonly kind: 'column' | 'flag';
  readonly type: string;
  readonly unit: string;
  readonly least: number | null;
  readonly greatest: number | null;
  readonly allowed: string;
  readonly meaning: string;
}

export const codebookTable: Table<CodebookRow> = {
  file: 'codebook.csv',
  title: 'Meaning, unit and limits of every column, and the flags',
  primaryKey: ['file', 'kind', 'name'],
  columns: [
    column('file', 'string', 'File in which the column or flag occurs.', (row) => row.file, { required: true }),
    column('kind', 'string', 'column or flag.', (row) => row.kind, { required: true, allowed: ['column', 'flag'] }),
    column('name', 'string', 'Name as it stands in the file.', (row) => row.name, { required: true }),
    column('type', 'string', 'Kind of value.', (row) => row.type, { required: true }),
    column('unit', 'string', 'UCUM unit; empty when there is none or when it stands in a column of its own.', (row) => {
      return row.unit;
    }),
    column('least', 'number', 'Smallest value accepted.', (row) => row.least),
    column('greatest', 'number', 'Largest value accepted.', (row) => row.greatest),
    column('allowed', 'string', 'Values allowed, separated by spaces; empty when any.', (row) => row.allowed),
    column('meaning', 'string', 'What it is.', (row) => row.meaning, { required: true }),
  ],
};

// Only what a codebook row needs of a column; the type of a table's rows does not matter here.
interface DescribedTable {
  readonly file: string;
  readonly title: string;
  readonly primaryKey: readonly string[];
  readonly columns: readonly Omit<Table<never>['columns'][number], 'cell'>[];
}

/** The tables of the bundle, in file order. */
export const describedTables: readonly DescribedTable[] = [shotsTable, derivedTable, tracksTable, codebookTable];

export function codebookRows(): CodebookRow[] {
  const columns = describedTables.flatMap((table) =>
    table.columns.map((each) => ({
      file: table.file,
      name: each.name,
      kind: 'column' as const,
      type: each.type,
      unit: each.unit,
      least: each.limits?.min ?? null,
      greatest: each.limits?.max ?? null,
      allowed: each.allowed?.join(' ') ?? '',
      meaning: each.meaning,
    })),
  );
  const flagRows = flagNames.map((name) => ({
    file: derivedTable.file,
    name,
    kind: 'flag' as const,
    type: 'flag',
    unit: '',
    least: null,
    greatest: null,
    allowed: '',
    meaning: `${flags[name].meaning}${flags[name].leftOut ? ' Leaves the shot out of pooling unless a filter names it.' : ''}`,
  }));
  return [...columns, ...flagRows];
}

/** Many rows as one parameter a column: a statement stays the same however many rows it writes. */
import { type SQL, sql } from 'drizzle-orm';

type ColumnType = 'text' | 'int' | 'bigint' | 'smallint' | 'float8' | 'boolean';

export interface RowColumn<Row> {
  readonly name: string;
  readonly type: ColumnType;
  readonly of: (row: Row) => string | number | boolean | null;
}

/** `unnest(...) as given(names)`; names and types are ours, values are parameters. */
export function unnest<Row>(rows: readonly Row[], columns: readonly RowColumn<Row>[]): SQL {
  const lists = columns.map(({ type, of }) => sql`${sql.param(rows.map(of))}::${sql.raw(type)}[]`);
  const names = columns.map(({ name }) => sql.raw(name));
  return sql`unnest(${sql.join(lists, sql`, `)}) as given(${sql.join(names, sql`, `)})`;
}

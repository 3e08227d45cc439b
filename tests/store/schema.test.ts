import { getTableColumns, getTableName, is, sql } from 'drizzle-orm';
import { PgTable } from 'drizzle-orm/pg-core';
import { expect, test } from 'vitest';
import * as schema from '../../src/store/schema.ts';
import { onEachDatabase } from '../harness/service-database.ts';

onEachDatabase((open) => {
  test('schema.ts describes exactly the tables, columns, types and nullability of the migrated database', async () => {
    const { rows } = await open().db.execute<{ name: string; type: string; nullable: string; generated: string }>(sql`
      select table_name || '.' || column_name as name, data_type as type, is_nullable as nullable,
             case when column_default is not null or is_identity = 'YES' then 'yes' else 'no' end as generated
      from information_schema.columns
      where table_schema = 'public' and table_name <> 'schema_migration'
      order by 1`);
    const inDatabase = rows.map(({ name, type, nullable, generated }) => ({ name, type, nullable, generated }));
    const tables = Object.values(schema).filter((value) => is(value, PgTable));
    const inCode = tables.flatMap((table) =>
      Object.values(getTableColumns(table)).map((column) => ({
        name: `${getTableName(table)}.${column.name}`,
        type: column.getSQLType(),
        nullable: column.notNull ? 'NO' : 'YES',
        generated: column.hasDefault || column.generatedIdentity !== undefined ? 'yes' : 'no',
      })),
    );
    const byName = (a: { name: string }, b: { name: string }) => (a.name < b.name ? -1 : 1);
    expect(inCode.sort(byName)).toEqual(inDatabase.sort(byName));
    expect(tables.length).toBeGreaterThan(10);
  });
});

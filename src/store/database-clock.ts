/** One clock for everything that is ordered by time, whichever server wrote it. */
import { sql } from 'drizzle-orm';
import type { Database } from './database.ts';

/** The database's clock now, to the millisecond. */
export async function databaseClock(db: Database): Promise<Date> {
  const { rows } = await db.execute<{ now: number }>(
    sql`select floor(extract(epoch from clock_timestamp()) * 1000)::float8 as now`,
  );
  return new Date(Number(rows[0]?.now));
}

/** Does the database answer? */
import { sql } from 'drizzle-orm';
import type { Database } from './database.ts';

/** Asks the database for nothing. @throws the driver's error when it does not answer */
export async function ping(db: Database): Promise<void> {
  await db.execute(sql`select 1`);
}

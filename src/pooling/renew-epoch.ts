/** The epoch of a database: renewed when an older state was restored, so that no answer of the other future is taken for one of this. */
import { sql } from 'drizzle-orm';
import { publishNotice } from '../notices/publish-notice.ts';
import type { Database } from '../store/database.ts';
import { serverState } from '../store/schema.ts';

/** To be called once after a backup was restored. Every server forgets what it keeps. */
export async function renewEpoch(db: Database): Promise<void> {
  await db.transaction(async (tx) => {
    await tx.update(serverState).set({ epoch: sql`gen_random_uuid()` });
    await publishNotice(tx, { kind: 'readAgain', what: 'versions' });
  });
}

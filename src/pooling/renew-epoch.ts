/** The epoch of a database, which keeps answers of a future that was lost from being taken for answers of the present. */
import { sql } from 'drizzle-orm';
import { publishNotice } from '../notices/publish-notice.ts';
import type { Database } from '../store/database.ts';
import { serverState } from '../store/schema.ts';

/**
 * To be called once after an older state was put back under running servers, or as files of an embedded database; other
 * restores are recognised, see version-book.ts. Every server forgets what it keeps.
 */
export async function renewEpoch(db: Database): Promise<void> {
  await db.transaction(async (tx) => {
    await tx.update(serverState).set({ epoch: sql`gen_random_uuid()` });
    await publishNotice(tx, { kind: 'readAgain', what: 'versions' });
  });
}

/** The one way to tell other servers and subscribers that something was written. */
import { sql } from 'drizzle-orm';
import type { Transaction } from '../store/database.ts';
import { type Notice, noticeChannel } from './notice.ts';

/**
 * Sends a notice when the transaction commits; nobody hears of a transaction that does not. The database delivers
 * notices in the order of commits.
 */
export async function publishNotice(tx: Transaction, notice: Notice): Promise<void> {
  await tx.execute(sql`select pg_notify(${noticeChannel}, ${JSON.stringify(notice)})`);
}

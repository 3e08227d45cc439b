/** What has to happen at its time whether anybody asks or not. Every server may do it; together they do it once. */
import { sql } from 'drizzle-orm';
import type { Database } from '../store/database.ts';
import { forgetOldKeys } from './idempotency.ts';
import { shareDue } from './planned-sharing.ts';

/** Receipts of dry runs live for a day. @returns how many were removed */
export async function forgetDryRuns(db: Database): Promise<number> {
  const old = sql`submission.dry_run and submission.received_at < clock_timestamp() - interval '1 day'`;
  return db.transaction(async (tx) => {
    await tx.execute(sql`
      delete from submission_shot using submission where submission.id = submission_shot.submission_id and ${old}`);
    // Only those without shots: a receipt that turned a day old between the two statements waits for the next round.
    const { rows } = await tx.execute<{ one: number }>(sql`
      delete from submission where ${old}
        and not exists (select 1 from submission_shot where submission_id = submission.id) returning 1 as one`);
    return rows.length;
  });
}

/** Shares what is due, and forgets what has been kept long enough. */
export async function doDueWork(db: Database): Promise<void> {
  await shareDue(db);
  await forgetOldKeys(db);
  await forgetDryRuns(db);
}

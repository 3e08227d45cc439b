/** Rows of shot: identity, ordinal, sharing and the current revision. */
import { sql } from 'drizzle-orm';
import { copyRows } from '../../store/copy-rows.ts';
import type { Transaction } from '../../store/database.ts';
import type { Arrival } from './accepted-shot.ts';
import type { StoredRevision } from './insert-revisions.ts';
import { unnest } from './unnest.ts';

const target = 'shot (id, lab_id, label, ordinal, current_revision_id, shared, shared_at, shared_from, created_at)';

/**
 * Inserts the new ones of these shots, and lets all of them point to their new revision, whose row must follow in the
 * same transaction.
 */
export async function insertShots(
  tx: Transaction,
  { labId, receivedAt }: Arrival,
  revisions: readonly StoredRevision[],
): Promise<void> {
  const at = 1000 * receivedAt.getTime();
  await copyRows(tx, target, (rows) => {
    for (const { id, shot } of revisions) {
      if (!shot.isNew) continue;
      rows.row(9).hexadecimal(shot.id).int4(labId).text(shot.label).int4(shot.ordinal).int8(id).boolean(shot.shared);
      if (shot.shared) rows.timestamp(at).int4(1);
      else rows.null().null();
      rows.timestamp(at);
    }
  });
  const revised = revisions.filter(({ shot }) => !shot.isNew);
  if (revised.length === 0) return;
  const current = unnest(revised, [
    { name: 'shot_id', type: 'text', of: ({ shot }) => shot.id },
    { name: 'revision_id', type: 'bigint', of: ({ id }) => id },
  ]);
  await tx.execute(sql`
    update shot set current_revision_id = given.revision_id from ${current} where shot.id = given.shot_id::uuid`);
}

/** Rows of shot: identity, ordinal and sharing. */
import { sql } from 'drizzle-orm';
import type { Transaction } from '../../store/database.ts';
import type { AcceptedShot, Arrival } from './accepted-shot.ts';
import { unnest } from './unnest.ts';

/** Inserts the new ones of these shots. */
export async function insertShots(tx: Transaction, arrival: Arrival, shots: readonly AcceptedShot[]): Promise<void> {
  const created = shots.filter(({ isNew }) => isNew);
  if (created.length === 0) return;
  const given = unnest(created, [
    { name: 'id', type: 'text', of: ({ id }) => id },
    { name: 'label', type: 'text', of: ({ label }) => label },
    { name: 'ordinal', type: 'int', of: ({ ordinal }) => ordinal },
    { name: 'shared', type: 'boolean', of: ({ shared }) => shared },
  ]);
  const at = sql`${arrival.receivedAt.toISOString()}::timestamptz`;
  await tx.execute(sql`
    insert into shot (id, lab_id, label, ordinal, shared, shared_at, shared_from, created_at)
    select id::uuid, ${arrival.labId}::int, label, ordinal, shared, case when shared then ${at} end,
      case when shared then 1 end, ${at}
    from ${given}`);
}

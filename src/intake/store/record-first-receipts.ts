/**
 * When the server first got each track of a lab, stored or not. A dry run and a refused upload give the derived numbers
 * too, and a withdrawn shot can be sent again under another label: none of these makes the shot new to a margin.
 */
import { sql } from 'drizzle-orm';
import type { Transaction } from '../../store/database.ts';
import type { SpooledShot } from '../spooled-shot.ts';
import type { Arrival } from './accepted-shot.ts';
import { unnest } from './unnest.ts';

/**
 * Keeps the time of this arrival for every shot that could be read and that never arrived before.
 *
 * @returns by receipt hash when what arrived before had arrived, microseconds since 1970
 */
export async function recordFirstReceipts(
  tx: Transaction,
  arrival: Arrival,
  shots: readonly SpooledShot[],
): Promise<ReadonlyMap<string, number>> {
  const hashes = [...new Set(shots.flatMap(({ ready }) => (ready === null ? [] : ready.receiptHash)))];
  if (hashes.length === 0) return new Map();
  const given = unnest(hashes, [{ name: 'hash', type: 'text', of: (hash) => hash }]);
  // An upload that began earlier may end later.
  const { rows } = await tx.execute<{ hash: string; received_at: string }>(sql`
    with sent as materialized (select decode(given.hash, 'hex') as hash from ${given}),
      earlier as (
        select hash, received_at from first_receipt
        where lab_id = ${arrival.labId}::int and hash in (select sent.hash from sent)),
      added as (
        insert into first_receipt (lab_id, hash, received_at)
        select ${arrival.labId}::int, sent.hash, ${arrival.receivedAt.toISOString()}::timestamptz from sent
        on conflict (lab_id, hash) do update set received_at = excluded.received_at
        where excluded.received_at < first_receipt.received_at)
    select encode(hash, 'hex') as hash, (extract(epoch from received_at) * 1000000)::bigint::text as received_at
    from earlier`);
  return new Map(rows.map(({ hash, received_at: at }) => [hash, Number(at)]));
}

/**
 * When the server first got each track of a lab, stored or not. A dry run and a refused upload give the derived numbers
 * too, and a withdrawn shot can be sent again under another label: none of these makes the shot new to a margin.
 */
import { sql } from 'drizzle-orm';
import { canonicalJson, sha256Hex } from '../../pooling/canonical.ts';
import type { Transaction } from '../../store/database.ts';
import type { PreparedShot, ReadyShot } from '../prepared-shot.ts';
import type { Arrival } from './accepted-shot.ts';
import { unnest } from './unnest.ts';

/**
 * What makes a shot the same one whatever it is called: SHA-256 (hexadecimal) of its track, or, without a track, of its
 * content apart from label and note.
 */
export function receiptHash({ trackHash, content }: Pick<ReadyShot, 'trackHash' | 'content'>): string {
  if (trackHash !== null) return trackHash;
  const { label: _label, note: _note, ...measured } = content;
  return sha256Hex(canonicalJson(measured));
}

/** Keeps the time of this arrival for every shot that could be read and that never arrived before. */
export async function recordFirstReceipts(
  tx: Transaction,
  arrival: Arrival,
  shots: readonly PreparedShot[],
): Promise<void> {
  const hashes = [...new Set(shots.flatMap(({ ready }) => (ready === null ? [] : receiptHash(ready))))];
  if (hashes.length === 0) return;
  const given = unnest(hashes, [{ name: 'hash', type: 'text', of: (hash) => hash }]);
  // An upload that began earlier may end later.
  await tx.execute(sql`
    insert into first_receipt (lab_id, hash, received_at)
    select ${arrival.labId}::int, decode(given.hash, 'hex'), ${arrival.receivedAt.toISOString()}::timestamptz from ${given}
    on conflict (lab_id, hash) do update set received_at = excluded.received_at
    where excluded.received_at < first_receipt.received_at`);
}

/** Rows of shot_revision, track and derivation, and the pointer of the shot to its current revision. */
import { sql } from 'drizzle-orm';
import type { DerivedShot } from '../../../shared/derivation.ts';
import type { Transaction } from '../../store/database.ts';
import type { AcceptedShot, Arrival } from './accepted-shot.ts';
import { receiptHash } from './record-first-receipts.ts';
import { unnest } from './unnest.ts';

export interface StoredRevision {
  readonly id: number;
  readonly shot: AcceptedShot;
}

const base64 = (bytes: Uint8Array | null): string | null =>
  bytes === null ? null : Buffer.from(bytes).toString('base64');

/**
 * Inserts one revision of each shot and makes it the current one. First received is a revision when its track or content
 * was, in any submission of the lab, or when an earlier revision of the shot was: an amendment makes no shot new.
 */
export async function insertRevisions(
  tx: Transaction,
  arrival: Arrival,
  shots: readonly AcceptedShot[],
): Promise<StoredRevision[]> {
  const given = unnest(shots, [
    { name: 'shot_id', type: 'text', of: ({ id }) => id },
    { name: 'number', type: 'int', of: ({ revision }) => revision },
    { name: 'content', type: 'text', of: ({ ready }) => JSON.stringify(ready.content) },
    { name: 'content_hash', type: 'text', of: ({ ready }) => ready.contentHash },
    { name: 'track_hash', type: 'text', of: ({ ready }) => ready.trackHash },
    { name: 'rig_id', type: 'int', of: ({ ready }) => ready.rigId },
    { name: 'cue_id', type: 'int', of: ({ ready }) => ready.cueId },
    { name: 'table_id', type: 'int', of: ({ ready }) => ready.tableId },
    { name: 'receipt_hash', type: 'text', of: ({ ready }) => receiptHash(ready) },
  ]);
  const at = sql`${arrival.receivedAt.toISOString()}::timestamptz`;
  const { rows } = await tx.execute<{ id: string; shot_id: string }>(sql`
    insert into shot_revision
      (shot_id, number, submission_id, content, content_hash, track_hash, rig_id, cue_id, table_id, received_at,
        first_received_at)
    select given.shot_id::uuid, given.number, ${arrival.submissionId}::uuid, given.content::jsonb,
      decode(given.content_hash, 'hex'), decode(given.track_hash, 'hex'), given.rig_id, given.cue_id, given.table_id, ${at},
      least(${at}, receipt.received_at, earlier.first_received_at)
    from ${given}
      join shot on shot.id = given.shot_id::uuid
      left join shot_revision as earlier on earlier.id = shot.current_revision_id
      left join first_receipt as receipt
        on receipt.lab_id = ${arrival.labId}::int and receipt.hash = decode(given.receipt_hash, 'hex')
    returning id::text as id, shot_id::text as shot_id`);
  const ids = new Map(rows.map((row) => [row.shot_id, Number(row.id)]));
  const revisions = shots.map((shot) => {
    const id = ids.get(shot.id);
    if (id === undefined) throw new Error(`The revision of shot ${shot.label} was not returned.`);
    return { id, shot };
  });
  const current = unnest(revisions, [
    { name: 'shot_id', type: 'text', of: ({ shot }) => shot.id },
    { name: 'revision_id', type: 'bigint', of: ({ id }) => id },
  ]);
  await tx.execute(sql`
    update shot set current_revision_id = given.revision_id from ${current} where shot.id = given.shot_id::uuid`);
  return revisions;
}

/** Tracks as exact bytes. They travel as base64, which both drivers bind alike. */
export async function insertTracks(tx: Transaction, revisions: readonly StoredRevision[]): Promise<void> {
  const tracks = revisions.flatMap(({ id, shot: { ready } }) => [
    ...(ready.track === null ? [] : [{ id, kind: 'cue', ...ready.track }]),
    ...(ready.ballTrack === null ? [] : [{ id, kind: 'ball', ...ready.ballTrack }]),
  ]);
  if (tracks.length === 0) return;
  const given = unnest(tracks, [
    { name: 'revision_id', type: 'bigint', of: ({ id }) => id },
    { name: 'kind', type: 'text', of: ({ kind }) => kind },
    { name: 'unit', type: 'text', of: ({ unit }) => unit },
    { name: 'points', type: 'int', of: ({ points }) => points },
    { name: 'positions', type: 'text', of: ({ positions }) => base64(positions) },
    { name: 'frames', type: 'text', of: ({ frames }) => base64(frames) },
    { name: 'times', type: 'text', of: ({ times }) => base64(times) },
    { name: 'time_unit', type: 'text', of: ({ timeUnit }) => timeUnit },
    { name: 'gaps', type: 'text', of: ({ gaps }) => base64(gaps) },
  ]);
  await tx.execute(sql`
    insert into track (revision_id, kind, unit, points, positions, frames, times, time_unit, gaps)
    select revision_id, kind, unit, points, decode(positions, 'base64'), decode(frames, 'base64'),
      decode(times, 'base64'), time_unit, decode(gaps, 'base64')
    from ${given}`);
}

export interface NewDerivation {
  readonly revisionId: number;
  readonly derived: DerivedShot;
}

/** Derivations that are there already stay as they are: a method version gives one result for a revision. */
export async function insertDerivations(tx: Transaction, derivations: readonly NewDerivation[]): Promise<void> {
  const given = unnest(derivations, [
    { name: 'revision_id', type: 'bigint', of: ({ revisionId }) => revisionId },
    { name: 'method_version', type: 'text', of: ({ derived }) => derived.methodVersion },
    { name: 'derived', type: 'text', of: ({ derived }) => JSON.stringify(derived) },
  ]);
  await tx.execute(sql`
    insert into derivation (revision_id, method_version, derived)
    select revision_id, method_version, derived::jsonb from ${given}
    on conflict (revision_id, method_version) do nothing`);
}

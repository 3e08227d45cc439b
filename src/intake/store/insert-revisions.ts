/** Rows of shot_revision and track. */
import { sql } from 'drizzle-orm';
import { copyRows } from '../../store/copy-rows.ts';
import type { Transaction } from '../../store/database.ts';
import type { EncodedTrack, TrackKind } from '../track-bytes.ts';
import type { AcceptedShot, Arrival } from './accepted-shot.ts';

export interface StoredRevision {
  readonly id: number;
  /** When its track or content was, in any submission of the lab, microseconds since 1970. */
  readonly firstReceivedAt: number;
  readonly shot: AcceptedShot;
}

/**
 * A revision of each shot, with an id of its own, not yet stored. First received is a revision when its track or content
 * was, in any submission of the lab, or when an earlier revision of the shot was: an amendment makes no shot new.
 *
 * @param received by receipt hash, what had arrived before this submission
 */
export async function numberRevisions(
  tx: Transaction,
  { receivedAt }: Arrival,
  shots: readonly AcceptedShot[],
  received: ReadonlyMap<string, number>,
): Promise<StoredRevision[]> {
  const { rows } = await tx.execute<{ id: string }>(sql`
    select nextval(pg_get_serial_sequence('shot_revision', 'id'))::text as id
    from generate_series(1, ${shots.length}::int)`);
  const now = 1000 * receivedAt.getTime();
  return shots.map((shot, index) => {
    const id = Number(rows[index]?.id ?? Number.NaN);
    const before = [received.get(shot.ready.receiptHash) ?? now, shot.firstReceivedBefore ?? now];
    return { id, firstReceivedAt: Math.min(now, ...before), shot };
  });
}

const revisionTarget = `shot_revision (id, shot_id, number, submission_id, content, content_hash, track_hash, rig_id,
  cue_id, table_id, received_at, first_received_at)`;

export async function insertRevisions(
  tx: Transaction,
  { submissionId, receivedAt }: Arrival,
  revisions: readonly StoredRevision[],
): Promise<void> {
  await copyRows(tx, revisionTarget, (rows) => {
    for (const { id, firstReceivedAt, shot } of revisions) {
      const { content, contentHash, trackHash, rigId, cueId, tableId } = shot.ready;
      rows.row(12).int8(id).hexadecimal(shot.id).int4(shot.revision).hexadecimal(submissionId);
      rows.jsonb(content).hexadecimal(contentHash).hexadecimal(trackHash).int4(rigId).int4(cueId).int4(tableId);
      rows.timestamp(1000 * receivedAt.getTime()).timestamp(firstReceivedAt);
    }
  });
}

const trackTarget = `track (revision_id, kind, unit, points, positions, frames, first_frame, times, time_unit, gaps)`;

/** Tracks as exact bytes. */
export async function insertTracks(tx: Transaction, revisions: readonly StoredRevision[]): Promise<void> {
  await copyRows(tx, trackTarget, (rows) => {
    const write = (id: number, kind: TrackKind, track: EncodedTrack | null): void => {
      if (track === null) return;
      rows.row(10).int8(id).text(kind).text(track.unit).int4(track.points).binary(track.positions).binary(track.frames);
      rows.int4(track.firstFrame).binary(track.times).text(track.timeUnit).binary(track.gaps);
    };
    for (const { id, shot } of revisions) {
      write(id, 'cue', shot.ready.track);
      write(id, 'ball', shot.ready.ballTrack);
    }
  });
}

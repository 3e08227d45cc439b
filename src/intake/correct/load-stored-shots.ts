/** Stored shots put together again as they were sent, with what was derived from them. */
import { and, eq, isNull, sql } from 'drizzle-orm';
import type { DerivedShot } from '../../../shared/derivation.ts';
import type { Shot } from '../../../shared/shot.ts';
import type { Database } from '../../store/database.ts';
import { derivation, serverState, shot, shotRevision, track } from '../../store/schema.ts';
import { type StoredContent, shotOfStored } from '../stored-content.ts';
import { decodeTrack } from '../track-bytes.ts';
import type { TrackPoints } from '../track-frames.ts';

export interface WholeShot {
  readonly label: string;
  /** Number of the current revision. */
  readonly revision: number;
  /** Content hash of the current revision, hexadecimal. */
  readonly contentHash: string;
  /** shared is false: sharing is no part of a revision. */
  readonly shot: Shot;
  readonly derived: DerivedShot;
}

async function loadTracks(db: Database, revisionIds: readonly number[]): Promise<ReadonlyMap<string, TrackPoints>> {
  const rows = await db
    .select()
    .from(track)
    .where(sql`${track.revisionId} = any(${sql.param([...revisionIds])}::bigint[])`);
  return new Map(rows.map((row) => [`${row.kind} ${row.revisionId}`, decodeTrack(row)]));
}

/** Those of the shots that are not withdrawn, by ordinal. */
export async function loadStoredShots(db: Database, ids: readonly string[]): Promise<WholeShot[]> {
  const rows = await db
    .select({
      label: shot.label,
      number: shotRevision.number,
      revisionId: shotRevision.id,
      contentHash: sql<string>`encode(${shotRevision.contentHash}, 'hex')`,
      content: shotRevision.content,
      derived: derivation.derived,
    })
    .from(shot)
    .innerJoin(shotRevision, eq(shotRevision.id, shot.currentRevisionId))
    .innerJoin(
      derivation,
      and(
        eq(derivation.revisionId, shotRevision.id),
        eq(derivation.methodVersion, db.select({ method: serverState.activeMethod }).from(serverState)),
      ),
    )
    .where(and(sql`${shot.id} = any(${sql.param([...ids])}::uuid[])`, isNull(shot.withdrawnAt)))
    .orderBy(shot.ordinal);
  const tracks = await loadTracks(
    db,
    rows.map(({ revisionId }) => revisionId),
  );
  return rows.map(({ label, number, revisionId, contentHash, content, derived }) => {
    const points = (kind: string) => tracks.get(`${kind} ${revisionId}`) ?? null;
    return {
      label,
      revision: number,
      contentHash,
      // Both were written by this service under its own schemas.
      shot: shotOfStored(content as StoredContent, { cue: points('cue'), ball: points('ball') }, false),
      derived: derived as DerivedShot,
    };
  });
}

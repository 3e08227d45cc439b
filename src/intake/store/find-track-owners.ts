/** Which shot of the lab has a cue track or a ball track already. Withdrawn shots and earlier revisions no longer claim theirs. */
import { sql } from 'drizzle-orm';
import type { Transaction } from '../../store/database.ts';

/**
 * Labels by hexadecimal track hash; more than one only where stored by an older check.
 *
 * The form of the query leaves the planner no choice but the index of hashes and then the key of shot: while a large
 * first upload is being stored it has no statistics, and would read every shot of the lab for each batch.
 */
export async function findTrackOwners(
  tx: Transaction,
  labId: number,
  hashes: readonly string[],
): Promise<ReadonlyMap<string, string>> {
  if (hashes.length === 0) return new Map();
  const { rows } = await tx.execute<{ hash: string; label: string }>(sql`
    with known as materialized (
      select id, shot_id, encode(track_hash, 'hex') as hash
      from shot_revision
      where track_hash is not null and track_hash = any(array(
        select decode(wanted.hash, 'hex') from unnest(${sql.param([...hashes])}::text[]) as wanted(hash)))
    )
    select known.hash, owner.label
    from known cross join lateral (
      select shot.label
      from shot
      where shot.id = known.shot_id and shot.current_revision_id = known.id
        and shot.lab_id = ${labId} and shot.withdrawn_at is null
      offset 0
    ) as owner
    order by owner.label collate "C"`);
  return new Map(rows.map(({ hash, label }) => [hash, label]));
}

/** Labels by the fingerprint of a ball track; see `ballTrackFingerprint`. */
export async function findBallTrackOwners(
  tx: Transaction,
  labId: number,
  fingerprints: readonly string[],
): Promise<ReadonlyMap<string, string>> {
  if (fingerprints.length === 0) return new Map();
  const { rows } = await tx.execute<{ fingerprint: string; label: string }>(sql`
    with known as materialized (
      select revision_id, encode(sha256(positions), 'hex') as fingerprint
      from track
      where kind = 'ball' and sha256(positions) = any(array(
        select decode(wanted.fingerprint, 'hex') from unnest(${sql.param([...fingerprints])}::text[]) as wanted(fingerprint)))
    )
    select known.fingerprint, shot.label
    from known
      join shot_revision on shot_revision.id = known.revision_id
      join shot on shot.id = shot_revision.shot_id and shot.current_revision_id = known.revision_id
    where shot.lab_id = ${labId} and shot.withdrawn_at is null
    order by shot.label collate "C"`);
  return new Map(rows.map(({ fingerprint, label }) => [fingerprint, label]));
}

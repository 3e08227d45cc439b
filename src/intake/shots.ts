/** Reading shots. What a principal may not see looks like what does not exist. */
import { and, desc, eq, gte, inArray, or, type SQL, sql } from 'drizzle-orm';
import { Refusal } from '../../shared/refusal.ts';
import type { BallTrack, CueTrack } from '../../shared/shot.ts';
import { gearReferences } from '../access/gear-tables.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { sightOf } from '../access/visibility.ts';
import type { Database } from '../store/database.ts';
import { cue, lab, rig, shot, shotRevision, submission, tableSetup, track } from '../store/schema.ts';
import type { Page } from './receipts.ts';
import type { StoredContent } from './stored-content.ts';
import { decodeTrack, type TrackKind } from './track-bytes.ts';
import type { TrackPoints } from './track-frames.ts';
import { mayRead, type StoredShotRecord, selectShots } from './visible-shots.ts';

export interface RevisionRecord {
  readonly number: number;
  /** UTC instant. */
  readonly receivedAt: string;
  readonly submission: string;
  /** How it came about. */
  readonly purpose: 'upload' | 'amendment' | 'adoption';
  /** Why, as the lab wrote it; null when nothing was said. */
  readonly reason: string | null;
  /** SHA-256, hexadecimal. */
  readonly contentHash: string;
  readonly rig: string;
  readonly cue: string | null;
  readonly table: string | null;
  readonly content: unknown;
}

/** Condition of the page after a cursor `slug:ordinal`. */
function afterCursor(after: string): SQL {
  const [slug, ordinal] = after.split(':');
  if (slug === undefined || ordinal === undefined || !/^\d{1,9}$/.test(ordinal)) {
    throw new Refusal('request-invalid', 'after is not a cursor of this list.');
  }
  return sql`(${lab.slug} collate "C", ${shot.ordinal}) > (${slug}::text collate "C", ${Number(ordinal)}::int)`;
}

/**
 * Visible shots by lab slug and ordinal.
 *
 * @throws Refusal unauthenticated; request-invalid for a cursor that is none
 */
export async function listShots(
  db: Database,
  principal: Principal,
  { lab: slug, label, after, limit }: Page & { readonly lab?: string | undefined; readonly label?: string | undefined },
): Promise<{ shots: StoredShotRecord[]; next: string | null }> {
  permit(principal, 'readShared');
  const which = and(
    slug === undefined ? undefined : eq(lab.slug, slug),
    label === undefined ? undefined : eq(shot.label, label),
    after === undefined ? undefined : afterCursor(after),
  );
  const rows = await selectShots(db, sightOf(principal), which, limit + 1);
  const shots = rows.slice(0, limit);
  const last = shots.at(-1);
  return { shots, next: rows.length > limit && last !== undefined ? `${last.lab}:${last.ordinal}` : null };
}

/** @throws Refusal unauthenticated, not-found */
export async function getShot(db: Database, principal: Principal, id: string): Promise<StoredShotRecord> {
  permit(principal, 'readShared');
  const [found] = await selectShots(db, sightOf(principal), eq(shot.id, id), 1);
  if (found === undefined) throw new Refusal('not-found', `There is no shot ${id} for this token.`);
  return found;
}

/**
 * The revisions of a visible shot, newest first: its lab sees every one, others those from the one that was shared.
 *
 * @throws Refusal unauthenticated, not-found
 */
export async function listRevisions(db: Database, principal: Principal, id: string): Promise<RevisionRecord[]> {
  await getShot(db, principal, id);
  return (await revisionsOfShots(db, principal, [id])).get(id) ?? [];
}

/** The same of several shots; those that may not be seen are left out. */
export async function revisionsOfShots(
  db: Database,
  principal: Principal,
  ids: readonly string[],
): Promise<Map<string, RevisionRecord[]>> {
  permit(principal, 'readShared');
  const sight = sightOf(principal);
  const since = gte(shotRevision.number, shot.sharedFrom);
  const rows = await db
    .select({
      shotId: shot.id,
      number: shotRevision.number,
      receivedAt: shotRevision.receivedAt,
      submission: shotRevision.submissionId,
      purpose: submission.purpose,
      reason: submission.reason,
      contentHash: sql<string>`encode(${shotRevision.contentHash}, 'hex')`,
      ...gearReferences,
      content: shotRevision.content,
    })
    .from(shotRevision)
    .innerJoin(shot, eq(shot.id, shotRevision.shotId))
    .innerJoin(lab, eq(lab.id, shot.labId))
    .innerJoin(submission, eq(submission.id, shotRevision.submissionId))
    .innerJoin(rig, eq(rig.id, shotRevision.rigId))
    .leftJoin(cue, eq(cue.id, shotRevision.cueId))
    .leftJoin(tableSetup, eq(tableSetup.id, shotRevision.tableId))
    .where(
      and(
        inArray(shot.id, [...ids]),
        mayRead(sight),
        sight.ownLab === null ? since : or(since, eq(lab.slug, sight.ownLab)),
      ),
    )
    .orderBy(desc(shotRevision.number));
  return groupBy(rows, ({ shotId, ...row }) => [
    shotId,
    { ...row, receivedAt: row.receivedAt.toISOString(), rig: row.rig ?? '' },
  ]);
}

/**
 * The cue track or the ball track of the current revision as sent; frames counted from a first frame are written out.
 *
 * @throws Refusal unauthenticated, not-found (also for a shot without such a track)
 */
export async function getTrack(
  db: Database,
  principal: Principal,
  id: string,
  kind: TrackKind = 'cue',
): Promise<CueTrack | BallTrack> {
  const { content } = await getShot(db, principal, id);
  const points = (await tracksOfShots(db, principal, [id], kind)).get(id);
  if (points === undefined) throw new Refusal('not-found', `Shot ${id} was sent without a ${kind} track.`);
  // Written by this service under its own schema.
  const { ballTrack: camera } = content as StoredContent;
  return kind === 'ball' && camera !== undefined ? { ...camera, ...points } : points;
}

/** Tracks of one kind of the current revisions of several shots; shots without one, or not to be seen, are left out. */
export async function tracksOfShots(
  db: Database,
  principal: Principal,
  ids: readonly string[],
  kind: TrackKind,
): Promise<Map<string, TrackPoints>> {
  permit(principal, 'readShared');
  const rows = await db
    .select({ id: shot.id, track })
    .from(track)
    .innerJoin(shot, eq(shot.currentRevisionId, track.revisionId))
    .innerJoin(lab, eq(lab.id, shot.labId))
    .where(and(inArray(shot.id, [...ids]), eq(track.kind, kind), mayRead(sightOf(principal))));
  return new Map(rows.map((row) => [row.id, decodeTrack(row.track)]));
}

/** Current states of several shots by id; those that may not be seen are left out. */
export async function shotsById(
  db: Database,
  principal: Principal,
  ids: readonly string[],
): Promise<Map<string, StoredShotRecord>> {
  permit(principal, 'readShared');
  const rows = await selectShots(db, sightOf(principal), inArray(shot.id, [...ids]), ids.length);
  return new Map(rows.map((row) => [row.id, row]));
}

function groupBy<Row, Value>(rows: readonly Row[], entry: (row: Row) => [string, Value]): Map<string, Value[]> {
  const groups = new Map<string, Value[]>();
  for (const row of rows) {
    const [key, value] = entry(row);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [value]);
    else group.push(value);
  }
  return groups;
}

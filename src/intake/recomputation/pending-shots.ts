/** Current revisions that a method version has not derived yet, put together as the derivation takes them. */
import { and, asc, eq, gt, sql } from 'drizzle-orm';
import type { Shot } from '../../../shared/shot.ts';
import { type GearBook, loadGearBook } from '../../access/gear.ts';
import type { UsedGear } from '../../derivation/gear.ts';
import type { Database, Transaction } from '../../store/database.ts';
import { shot, shotRevision, track } from '../../store/schema.ts';
import type { StoredContent } from '../stored-content.ts';
import { decodeTrack } from '../track-bytes.ts';

export interface PendingShot {
  readonly revisionId: number;
  readonly shot: Shot;
  readonly gear: UsedGear;
}

function isPending(method: string) {
  return sql`not exists (
    select from derivation where derivation.revision_id = ${shot.currentRevisionId}
      and derivation.method_version = ${method})`;
}

/** Shots with a current revision, and how many of them the method has not derived. */
export async function countShots(
  db: Database | Transaction,
  method: string,
): Promise<{ readonly total: number; readonly pending: number }> {
  const [counted] = await db
    .select({
      total: sql<number>`count(*)::int`,
      pending: sql<number>`(count(*) filter (where ${isPending(method)}))::int`,
    })
    .from(shot)
    .where(sql`${shot.currentRevisionId} is not null`);
  return counted ?? { total: 0, pending: 0 };
}

/** Reads pending shots in the order of their revisions, and keeps the gear of each lab between batches. */
export class PendingShots {
  readonly #db: Database;
  readonly #method: string;
  readonly #books = new Map<number, GearBook>();

  constructor(db: Database, method: string) {
    this.#db = db;
    this.#method = method;
  }

  /** The next ones with a revision id above `after`; empty when there are none. */
  async batch(after: number, limit: number): Promise<PendingShot[]> {
    const rows = await this.#db
      .select({ labId: shot.labId, shared: shot.shared, revision: shotRevision })
      .from(shot)
      .innerJoin(shotRevision, eq(shotRevision.id, shot.currentRevisionId))
      .where(and(gt(shotRevision.id, after), isPending(this.#method)))
      .orderBy(asc(shotRevision.id))
      .limit(limit);
    const ids = rows.map(({ revision }) => revision.id);
    const tracks = await this.#db
      .select()
      .from(track)
      .where(sql`${track.kind} = 'cue' and ${track.revisionId} = any(${sql.param(ids)}::bigint[])`);
    const trackOf = new Map(tracks.map((row) => [row.revisionId, row]));
    const pending: PendingShot[] = [];
    for (const { labId, shared, revision } of rows) {
      const cueTrack = trackOf.get(revision.id);
      // As stored, without parsing: what verification of a release sees too.
      const content = revision.content as StoredContent;
      pending.push({
        revisionId: revision.id,
        shot: { ...content, shared, ...(cueTrack === undefined ? {} : { cueTrack: decodeTrack(cueTrack) }) },
        gear: await this.#gearOf(labId, revision),
      });
    }
    return pending;
  }

  async #gearOf(labId: number, used: typeof shotRevision.$inferSelect): Promise<UsedGear> {
    const find = (book: GearBook | undefined): UsedGear | null => {
      const rig = book?.byId('rigs', used.rigId) ?? null;
      const cue = used.cueId === null ? null : (book?.byId('cues', used.cueId) ?? null);
      const table = used.tableId === null ? null : (book?.byId('tables', used.tableId) ?? null);
      const whole = (used.cueId === null) === (cue === null) && (used.tableId === null) === (table === null);
      return rig === null || !whole ? null : { rig, cue, table };
    };
    const known = find(this.#books.get(labId));
    if (known !== null) return known;
    // The first shot of the lab, or gear registered since its book was read.
    const book = await loadGearBook(this.#db, labId);
    this.#books.set(labId, book);
    const gear = find(book);
    if (gear === null) throw new Error(`revision ${used.id} names gear that its lab does not have`);
    return gear;
  }
}

/** Stored revisions put together again as the derivation takes them: content, track and gear. */
import { sql } from 'drizzle-orm';
import type { Shot } from '../../shared/shot.ts';
import { type GearBook, loadGearBook } from '../access/gear.ts';
import type { UsedGear } from '../derivation/gear.ts';
import type { Database } from '../store/database.ts';
import { type shotRevision, track } from '../store/schema.ts';
import { type StoredContent, shotOfStored } from './stored-content.ts';
import { decodeTrack, type TrackKind } from './track-bytes.ts';
import type { TrackPoints } from './track-frames.ts';

export interface StoredRevisionRow {
  readonly labId: number;
  readonly shared: boolean;
  readonly revision: typeof shotRevision.$inferSelect;
}

export interface DerivableShot {
  readonly revisionId: number;
  readonly shot: Shot;
  readonly gear: UsedGear;
}

/** Keeps the gear of each lab between readings. */
export class StoredShots {
  readonly #db: Database;
  readonly #books = new Map<number, GearBook>();

  constructor(db: Database) {
    this.#db = db;
  }

  async assemble(rows: readonly StoredRevisionRow[]): Promise<DerivableShot[]> {
    const ids = rows.map(({ revision }) => revision.id);
    const tracks = await this.#db
      .select()
      .from(track)
      .where(sql`${track.revisionId} = any(${sql.param(ids)}::bigint[])`);
    const trackOf = new Map(tracks.map((row) => [`${row.revisionId} ${row.kind}`, row]));
    const points = (revisionId: number, kind: TrackKind): TrackPoints | null => {
      const row = trackOf.get(`${revisionId} ${kind}`);
      return row === undefined ? null : decodeTrack(row);
    };
    const shots: DerivableShot[] = [];
    for (const { labId, shared, revision } of rows) {
      // As stored, without parsing: what verification of a release sees too.
      const content = revision.content as StoredContent;
      shots.push({
        revisionId: revision.id,
        shot: shotOfStored(content, { cue: points(revision.id, 'cue'), ball: points(revision.id, 'ball') }, shared),
        gear: await this.#gearOf(labId, revision),
      });
    }
    return shots;
  }

  async #gearOf(labId: number, used: StoredRevisionRow['revision']): Promise<UsedGear> {
    const known = gearIn(this.#books.get(labId), used);
    if (known !== null) return known;
    // The first shot of the lab, or gear registered since its book was read.
    const book = await loadGearBook(this.#db, labId);
    this.#books.set(labId, book);
    const gear = gearIn(book, used);
    if (gear === null) throw new Error(`revision ${used.id} names gear that its lab does not have`);
    return gear;
  }
}

function gearIn(book: GearBook | undefined, used: StoredRevisionRow['revision']): UsedGear | null {
  const rig = book?.byId('rigs', used.rigId) ?? null;
  const cue = used.cueId === null ? null : (book?.byId('cues', used.cueId) ?? null);
  const table = used.tableId === null ? null : (book?.byId('tables', used.tableId) ?? null);
  const isWhole = (used.cueId === null) === (cue === null) && (used.tableId === null) === (table === null);
  return rig === null || !isWhole ? null : { rig, cue, table };
}

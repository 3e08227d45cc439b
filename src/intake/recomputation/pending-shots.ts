/** Current revisions that a method version has not derived yet. */
import { and, asc, eq, gt, sql } from 'drizzle-orm';
import type { Database, Transaction } from '../../store/database.ts';
import { shot, shotRevision } from '../../store/schema.ts';
import { type DerivableShot, StoredShots } from '../stored-shots.ts';

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

/** Reads pending shots in the order of their revisions. */
export class PendingShots {
  readonly #db: Database;
  readonly #method: string;
  readonly #stored: StoredShots;

  constructor(db: Database, method: string) {
    this.#db = db;
    this.#method = method;
    this.#stored = new StoredShots(db);
  }

  /** The next ones with a revision id above `after`; empty when there are none. */
  async batch(after: number, limit: number): Promise<DerivableShot[]> {
    const rows = await this.#db
      .select({ labId: shot.labId, shared: shot.shared, revision: shotRevision })
      .from(shot)
      .innerJoin(shotRevision, eq(shotRevision.id, shot.currentRevisionId))
      .where(and(gt(shotRevision.id, after), isPending(this.#method)))
      .orderBy(asc(shotRevision.id))
      .limit(limit);
    return this.#stored.assemble(rows);
  }
}

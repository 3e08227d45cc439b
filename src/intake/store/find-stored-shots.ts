/** The stored shots that carry given labels, with what decides whether an upload changes them. */
import { and, eq, sql } from 'drizzle-orm';
import type { Database, Transaction } from '../../store/database.ts';
import { shot, shotRevision } from '../../store/schema.ts';
import type { PinnedGear } from '../gear-references.ts';

export interface StoredShot {
  readonly id: string;
  readonly ordinal: number;
  readonly shared: boolean;
  readonly withdrawn: boolean;
  /** Number of the current revision. */
  readonly revision: number;
  /** Of the current revision, hexadecimal. */
  readonly contentHash: string;
  /** Of the current revision, microseconds since 1970. */
  readonly firstReceivedAt: number;
  readonly gear: PinnedGear;
}

/** By label. */
export async function findStoredShots(
  db: Database | Transaction,
  labId: number,
  labels: readonly string[],
): Promise<ReadonlyMap<string, StoredShot>> {
  if (labels.length === 0) return new Map();
  const rows = await db
    .select({
      label: shot.label,
      id: shot.id,
      ordinal: shot.ordinal,
      shared: shot.shared,
      withdrawnAt: shot.withdrawnAt,
      revision: shotRevision.number,
      contentHash: sql<string>`encode(${shotRevision.contentHash}, 'hex')`,
      firstReceived: sql<string>`(extract(epoch from ${shotRevision.firstReceivedAt}) * 1000000)::bigint::text`,
      rig: sql<string>`${shotRevision.content}->>'rig'`,
      cue: sql<string | null>`${shotRevision.content}->>'cue'`,
      table: sql<string | null>`${shotRevision.content}->>'table'`,
    })
    .from(shot)
    .innerJoin(shotRevision, eq(shotRevision.id, shot.currentRevisionId))
    .where(and(eq(shot.labId, labId), sql`${shot.label} = any(${sql.param([...labels])}::text[])`));
  return new Map(
    rows.map(({ label, withdrawnAt, firstReceived, rig, cue, table, ...row }) => [
      label,
      { ...row, withdrawn: withdrawnAt !== null, firstReceivedAt: Number(firstReceived), gear: { rig, cue, table } },
    ]),
  );
}

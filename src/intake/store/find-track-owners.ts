/** Which shot of the lab has a track already. Withdrawn shots and earlier revisions no longer claim theirs. */
import { and, eq, isNull, sql } from 'drizzle-orm';
import type { Transaction } from '../../store/database.ts';
import { shot, shotRevision } from '../../store/schema.ts';

/** Labels by hexadecimal track hash; more than one only where stored by an older check. */
export async function findTrackOwners(
  tx: Transaction,
  labId: number,
  hashes: readonly string[],
): Promise<ReadonlyMap<string, string>> {
  if (hashes.length === 0) return new Map();
  const wanted = sql`(select decode(wanted.hash, 'hex') from unnest(${sql.param([...hashes])}::text[]) as wanted(hash))`;
  const rows = await tx
    .select({ hash: sql<string>`encode(${shotRevision.trackHash}, 'hex')`, label: shot.label })
    .from(shotRevision)
    .innerJoin(shot, eq(shot.currentRevisionId, shotRevision.id))
    .where(and(eq(shot.labId, labId), isNull(shot.withdrawnAt), sql`${shotRevision.trackHash} in ${wanted}`))
    .orderBy(sql`${shot.label} collate "C"`);
  return new Map(rows.map(({ hash, label }) => [hash, label]));
}

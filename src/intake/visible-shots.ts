/** The query that every reading of shots starts from: current revision, active derivation, only what may be seen. */
import { and, eq, isNull, or, type SQL, sql } from 'drizzle-orm';
import type { DerivedShot } from '../../shared/derivation.ts';
import { gearReferences } from '../access/gear-tables.ts';
import { type Sight, visibleWhere } from '../access/visibility.ts';
import type { Database } from '../store/database.ts';
import { cue, derivation, lab, rig, serverState, shot, shotRevision, tableSetup } from '../store/schema.ts';

export interface StoredShotRecord {
  readonly id: string;
  readonly lab: string;
  readonly label: string;
  /** Place among the shots of the lab, in order of first acceptance. */
  readonly ordinal: number;
  /** Number of the current revision. */
  readonly revision: number;
  readonly shared: boolean;
  readonly withdrawn: { readonly at: string; readonly reason: string } | null;
  /** UTC instant at which the current revision was received. */
  readonly receivedAt: string;
  /** name@version. */
  readonly rig: string;
  readonly cue: string | null;
  readonly table: string | null;
  readonly content: unknown;
  readonly derived: DerivedShot;
}

/** Others no longer see a withdrawn shot; its own lab does, with the reason. */
export function mayRead(sight: Sight): SQL | undefined {
  const present = isNull(shot.withdrawnAt);
  return and(visibleWhere(sight, shot), sight.ownLab === null ? present : or(present, eq(lab.slug, sight.ownLab)));
}

/** Rows of visible shots by lab and ordinal. */
export async function selectShots(
  db: Database,
  sight: Sight,
  which: SQL | undefined,
  limit: number,
): Promise<StoredShotRecord[]> {
  const rows = await db
    .select({ shot, lab: lab.slug, revision: shotRevision, ...gearReferences, derived: derivation.derived })
    .from(shot)
    .innerJoin(lab, eq(lab.id, shot.labId))
    .innerJoin(shotRevision, eq(shotRevision.id, shot.currentRevisionId))
    .innerJoin(rig, eq(rig.id, shotRevision.rigId))
    .leftJoin(cue, eq(cue.id, shotRevision.cueId))
    .leftJoin(tableSetup, eq(tableSetup.id, shotRevision.tableId))
    .innerJoin(
      derivation,
      and(
        eq(derivation.revisionId, shotRevision.id),
        eq(derivation.methodVersion, db.select({ method: serverState.activeMethod }).from(serverState)),
      ),
    )
    .where(and(mayRead(sight), which))
    .orderBy(sql`${lab.slug} collate "C"`, shot.ordinal)
    .limit(limit);
  return rows.map((row) => ({
    id: row.shot.id,
    lab: row.lab,
    label: row.shot.label,
    ordinal: row.shot.ordinal,
    revision: row.revision.number,
    shared: row.shot.shared,
    withdrawn:
      row.shot.withdrawnAt === null
        ? null
        : { at: row.shot.withdrawnAt.toISOString(), reason: row.shot.withdrawnReason ?? '' },
    receivedAt: row.revision.receivedAt.toISOString(),
    rig: row.rig ?? '',
    cue: row.cue,
    table: row.table,
    content: row.revision.content,
    // Written by this service under the schema of the wire contract.
    derived: row.derived as DerivedShot,
  }));
}

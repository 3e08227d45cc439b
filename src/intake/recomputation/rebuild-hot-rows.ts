/** The hot table of a lab made anew from its current revisions and one method version. */
import { and, asc, eq, gt, isNull } from 'drizzle-orm';
import type { DerivedShot } from '../../../shared/derivation.ts';
import type { Transaction } from '../../store/database.ts';
import { derivation, hotShot, shot, shotRevision } from '../../store/schema.ts';
import { hotFields } from '../hot-fields.ts';
import { insertHotRows } from '../store/hot-rows.ts';
import type { StoredContent } from '../stored-content.ts';

const batchShots = 1000;

/** The lab's lock must be held. Withdrawn shots have no hot row. */
export async function rebuildHotRows(
  tx: Transaction,
  lab: { readonly id: number; readonly slug: string },
  method: string,
): Promise<void> {
  await tx.delete(hotShot).where(eq(hotShot.labId, lab.id));
  let after = 0;
  for (;;) {
    const rows = await tx
      .select({ shot, revision: shotRevision, derived: derivation.derived })
      .from(shot)
      .innerJoin(shotRevision, eq(shotRevision.id, shot.currentRevisionId))
      .innerJoin(derivation, and(eq(derivation.revisionId, shotRevision.id), eq(derivation.methodVersion, method)))
      .where(and(eq(shot.labId, lab.id), isNull(shot.withdrawnAt), gt(shot.ordinal, after)))
      .orderBy(asc(shot.ordinal))
      .limit(batchShots);
    const last = rows.at(-1);
    if (last === undefined) return;
    const hot = rows.map(({ shot: each, revision, derived }) => ({
      ordinal: each.ordinal,
      shotId: each.id,
      revisionId: revision.id,
      firstReceivedAt: 1000 * revision.firstReceivedAt.getTime(),
      shared: each.shared,
      rigId: revision.rigId,
      cueId: revision.cueId,
      tableId: revision.tableId,
      // Both were written by this service under its own schemas.
      fields: hotFields(revision.content as StoredContent, derived as DerivedShot),
    }));
    await insertHotRows(tx, lab.id, hot);
    after = last.shot.ordinal;
  }
}

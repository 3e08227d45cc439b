/** Withdrawal: a shot leaves every answer from now on; its history, and releases that hold it, stay. */
import { eq } from 'drizzle-orm';
import { printable } from '../../shared/fault.ts';
import { Refusal } from '../../shared/refusal.ts';
import { appendAudit } from '../access/audit.ts';
import { bumpLabVersion, lockLab } from '../access/lab-version.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { isVisible, sightOf } from '../access/visibility.ts';
import type { Database, Transaction } from '../store/database.ts';
import { hotShot, lab, shot } from '../store/schema.ts';

async function findShot(db: Database | Transaction, id: string) {
  const rows = await db
    .select({ shot, lab: lab.slug })
    .from(shot)
    .innerJoin(lab, eq(lab.id, shot.labId))
    .where(eq(shot.id, id));
  return rows[0];
}

/**
 * Withdraws a shot; a shot that is withdrawn already keeps its first reason.
 *
 * @throws Refusal unauthenticated; not-found for a shot that the principal may not see; forbidden for one of another lab
 */
export async function withdrawShot(db: Database, principal: Principal, shotId: string, reason: string): Promise<void> {
  permit(principal, 'readShared');
  const found = await findShot(db, shotId);
  const sight = sightOf(principal);
  // As in every reading, a withdrawn shot is there for its own lab alone.
  const shared = found?.shot.shared === true && found.shot.withdrawnAt === null;
  if (found === undefined || !isVisible(sight, { lab: found.lab, shared })) {
    throw new Refusal('not-found', `There is no shot ${shotId} for this token.`);
  }
  permit(principal, 'changeShots', found.lab);
  const { labId } = found.shot;
  await db.transaction(async (tx) => {
    await lockLab(tx, labId);
    const current = await findShot(tx, shotId);
    if (current === undefined || current.shot.withdrawnAt !== null) return;
    const { label, shared } = current.shot;
    const withdrawnReason = printable(reason);
    await tx.update(shot).set({ withdrawnAt: new Date(), withdrawnReason }).where(eq(shot.id, shotId));
    await tx.delete(hotShot).where(eq(hotShot.shotId, shotId));
    const detail = { shot: shotId, label, reason: withdrawnReason };
    await appendAudit(tx, labId, { tokenId: principal.tokenId, kind: 'shot-withdrawn', detail });
    await bumpLabVersion(tx, labId, { sharedChanged: shared });
  });
}

/** Sharing from a date on: a plan that any server carries out, once, by a write like every other. */
import { and, asc, eq, isNull, lte, sql } from 'drizzle-orm';
import { Refusal } from '../../shared/refusal.ts';
import type { PlannedSharing, ShotChoice } from '../../shared/sharing.ts';
import { appendAudit } from '../access/audit.ts';
import { lockLab } from '../access/lab-version.ts';
import { requireLab } from '../access/labs.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { publishNotice } from '../notices/publish-notice.ts';
import type { Database, Transaction } from '../store/database.ts';
import { plannedSharing } from '../store/schema.ts';
import { chooseShots } from './choose-shots.ts';
import { shareInLab } from './sharing.ts';

const present = (lab: string, row: typeof plannedSharing.$inferSelect): PlannedSharing => ({
  id: row.id,
  lab,
  // Written by this service under the schema of the wire contract.
  choice: row.choice as ShotChoice,
  from: row.dueAt.toISOString(),
  doneAt: row.doneAt?.toISOString() ?? null,
  shared: row.shared,
});

const open = and(isNull(plannedSharing.doneAt), isNull(plannedSharing.cancelledAt));

/**
 * Plans to share shots from an instant on. Labels must exist now; the other choices are made then.
 *
 * @throws Refusal unauthenticated, forbidden, not-found (lab), request-invalid (labels of no shot)
 */
export async function planSharing(
  db: Database,
  principal: Principal,
  labSlug: string,
  choice: ShotChoice,
  from: Date,
): Promise<PlannedSharing> {
  permit(principal, 'changeShots', labSlug);
  return db.transaction(async (tx) => {
    const { id: labId } = await requireLab(tx, labSlug);
    await lockLab(tx, labId);
    if ('labels' in choice) await chooseShots(tx, labId, choice);
    const { tokenId } = principal;
    const [row] = await tx.insert(plannedSharing).values({ labId, choice, dueAt: from, tokenId }).returning();
    if (row === undefined) throw new Error('The plan was not returned.');
    const detail = { plan: row.id, from: from.toISOString() };
    await appendAudit(tx, labId, { tokenId, kind: 'sharing-planned', detail });
    await publishNotice(tx, { kind: 'readAgain', what: 'versions' });
    return present(labSlug, row);
  });
}

/**
 * Plans of a lab by date, those carried out included.
 *
 * @throws Refusal unauthenticated, forbidden, not-found (lab)
 */
export async function listPlannedSharing(
  db: Database,
  principal: Principal,
  labSlug: string,
): Promise<PlannedSharing[]> {
  permit(principal, 'readLab', labSlug);
  const { id: labId } = await requireLab(db, labSlug);
  const rows = await db
    .select()
    .from(plannedSharing)
    .where(and(eq(plannedSharing.labId, labId), isNull(plannedSharing.cancelledAt)))
    .orderBy(asc(plannedSharing.dueAt), asc(plannedSharing.id));
  return rows.map((row) => present(labSlug, row));
}

/**
 * Calls a plan off.
 *
 * @throws Refusal unauthenticated, forbidden, not-found (lab; plan that is carried out, called off or unknown)
 */
export async function cancelPlannedSharing(
  db: Database,
  principal: Principal,
  labSlug: string,
  id: string,
): Promise<void> {
  permit(principal, 'changeShots', labSlug);
  await db.transaction(async (tx) => {
    const { id: labId } = await requireLab(tx, labSlug);
    await lockLab(tx, labId);
    const cancelled = await tx
      .update(plannedSharing)
      .set({ cancelledAt: new Date() })
      .where(and(eq(plannedSharing.id, id), eq(plannedSharing.labId, labId), open))
      .returning({ id: plannedSharing.id });
    if (cancelled.length === 0) throw new Refusal('not-found', `Lab ${labSlug} has no open plan ${id}.`);
    await appendAudit(tx, labId, { tokenId: principal.tokenId, kind: 'sharing-plan-cancelled', detail: { plan: id } });
  });
}

const due = and(open, lte(plannedSharing.dueAt, sql`clock_timestamp()`));

/** Carries out the due plans of one lab. The lab's lock lets one server at a time through; the next finds them done. */
async function shareDueInLab(tx: Transaction, labId: number): Promise<number> {
  await lockLab(tx, labId);
  const plans = await tx
    .select()
    .from(plannedSharing)
    .where(and(due, eq(plannedSharing.labId, labId)))
    .orderBy(asc(plannedSharing.dueAt), asc(plannedSharing.id));
  let total = 0;
  for (const plan of plans) {
    const ids = await chooseShots(tx, labId, plan.choice as ShotChoice, { lenient: true });
    const shared = await shareInLab(tx, labId, ids, plan.tokenId, { plan: plan.id });
    await tx.update(plannedSharing).set({ doneAt: new Date(), shared }).where(eq(plannedSharing.id, plan.id));
    total += shared;
  }
  return total;
}

/** Shares what is due by now. @returns how many shots became shared */
export async function shareDue(db: Database): Promise<number> {
  const labs = await db.selectDistinct({ labId: plannedSharing.labId }).from(plannedSharing).where(due);
  let shared = 0;
  for (const { labId } of labs) shared += await db.transaction((tx) => shareDueInLab(tx, labId));
  return shared;
}

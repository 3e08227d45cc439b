/** Receipts, for the lab that sent the submission and nobody else. */
import { and, asc, eq, gt, sql } from 'drizzle-orm';
import type { DerivedShot } from '../../shared/derivation.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { Receipt, ReceiptShot } from '../../shared/submission.ts';
import { may } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import type { Database } from '../store/database.ts';
import { lab, submission, submissionShot } from '../store/schema.ts';
import { receiptOf } from './receipt-of.ts';
import { remarksOn } from './remarks.ts';

const inlineRejected = 100;

export interface Page {
  /** Cursor: the `next` of the page before. */
  readonly after?: string | undefined;
  readonly limit: number;
}

async function requireSubmission(db: Database, principal: Principal, id: string) {
  const rows = await db
    .select({ submission, lab: lab.slug })
    .from(submission)
    .innerJoin(lab, eq(lab.id, submission.labId))
    .where(eq(submission.id, id));
  const row = rows[0];
  if (row === undefined || !may(principal, 'readLab', row.lab)) {
    throw new Refusal('not-found', `There is no submission ${id} for this token.`);
  }
  return row;
}

// Written by this service under the schema of the wire contract.
const present = (row: typeof submissionShot.$inferSelect): ReceiptShot => ({
  position: row.position,
  label: row.label,
  state: row.state as ReceiptShot['state'],
  shot: row.shotId,
  revision: row.revision,
  derived: row.derived as ReceiptShot['derived'],
  faults: row.faults as ReceiptShot['faults'],
});

/** Derived values of stored shots stand with their revisions; those by the first method are what the receipt told. */
async function withDerived(db: Database, shots: readonly ReceiptShot[]): Promise<ReceiptShot[]> {
  const stored = shots.filter(({ shot, derived }) => shot !== null && derived === null);
  const { rows } = await db.execute<{ key: string; derived: DerivedShot }>(sql`
    select distinct on (shot_revision.id) shot_revision.shot_id || ' ' || shot_revision.number as key, derivation.derived
    from unnest(${sql.param(stored.map(({ shot }) => shot))}::text[], ${sql.param(stored.map(({ revision }) => revision))}::int[])
      as given(shot_id, number)
      join shot_revision on shot_revision.shot_id = given.shot_id::uuid and shot_revision.number = given.number
      join derivation on derivation.revision_id = shot_revision.id
    order by shot_revision.id, derivation.id`);
  const byRevision = new Map(rows.map(({ key, derived }) => [key, derived]));
  return shots.map((shot) => {
    const kept = shot.state === 'rejected' ? null : byRevision.get(`${shot.shot} ${shot.revision}`);
    return { ...shot, derived: shot.derived ?? kept ?? null };
  });
}

/** @throws Refusal not-found, also to everybody outside the lab */
export async function getReceipt(db: Database, principal: Principal, id: string): Promise<Receipt> {
  const { submission: row, lab: slug } = await requireSubmission(db, principal, id);
  const rejected = await db
    .select()
    .from(submissionShot)
    .where(and(eq(submissionShot.submissionId, id), eq(submissionShot.state, 'rejected')))
    .orderBy(asc(submissionShot.position))
    .limit(inlineRejected);
  const { receivedAt, dryRun, stored } = row;
  const counts = {
    created: row.createdCount,
    unchanged: row.unchangedCount,
    revised: row.revisedCount,
    rejected: row.rejectedCount,
  };
  const remarks = await remarksOn(db, id);
  return receiptOf({ id, lab: slug, receivedAt, dryRun, stored, counts, rejected: rejected.map(present), remarks });
}

/**
 * The shots of a submission in the order sent.
 *
 * @throws Refusal not-found, also to everybody outside the lab; request-invalid for a cursor that is none
 */
export async function listReceiptShots(
  db: Database,
  principal: Principal,
  id: string,
  { after, limit }: Page,
): Promise<{ shots: ReceiptShot[]; next: string | null }> {
  await requireSubmission(db, principal, id);
  if (after !== undefined && !/^\d{1,9}$/.test(after)) {
    throw new Refusal('request-invalid', 'after is not a cursor of this list.');
  }
  const rows = await db
    .select()
    .from(submissionShot)
    .where(and(eq(submissionShot.submissionId, id), gt(submissionShot.position, Number(after ?? 0))))
    .orderBy(asc(submissionShot.position))
    .limit(limit + 1);
  const shots = await withDerived(db, rows.slice(0, limit).map(present));
  return { shots, next: rows.length > limit ? String(shots.at(-1)?.position) : null };
}

/** Labs: registered by the curator, seen by every reader. */
import { eq, sql } from 'drizzle-orm';
import { type LabInput, labInputSchema } from '../../shared/gear.ts';
import { Refusal } from '../../shared/refusal.ts';
import { publishNotice } from '../notices/publish-notice.ts';
import type { Database, Transaction } from '../store/database.ts';
import { lab } from '../store/schema.ts';
import { appendAudit } from './audit.ts';
import { permit } from './permissions.ts';
import type { Principal } from './principal.ts';

export interface Lab extends LabInput {
  /** UTC instant. */
  readonly createdAt: string;
}

type LabRow = typeof lab.$inferSelect;

/** A lab as it is shown, from its row. */
export function presentLab(row: LabRow): Lab {
  const { slug, title, dataLicence, consentReference, createdAt } = row;
  return { slug, title, dataLicence, consentReference, createdAt: createdAt.toISOString() };
}

/**
 * The row of a lab, for use cases; gives no permission.
 * @throws Refusal 'not-found'
 */
export async function requireLab(db: Database | Transaction, slug: string): Promise<LabRow> {
  const rows = await db.select().from(lab).where(eq(lab.slug, slug));
  const row = rows[0];
  if (row === undefined) throw new Refusal('not-found', `There is no lab ${slug}.`);
  return row;
}

/**
 * Registers a lab.
 * @throws Refusal 'forbidden', 'name-taken'
 */
export async function createLab(db: Database, principal: Principal, input: LabInput): Promise<Lab> {
  permit(principal, 'registerLab');
  const values = labInputSchema.parse(input);
  return db.transaction(async (tx) => {
    const rows = await tx.insert(lab).values(values).onConflictDoNothing({ target: lab.slug }).returning();
    const row = rows[0];
    if (row === undefined) throw new Refusal('name-taken', `There is a lab ${values.slug} already.`);
    await appendAudit(tx, row.id, { tokenId: principal.tokenId, kind: 'lab-registered', detail: { ...values } });
    const { slug, version, sharedVersion } = row;
    await publishNotice(tx, { kind: 'labVersion', lab: slug, version, sharedVersion });
    return presentLab(row);
  });
}

/** All labs by slug. */
export async function listLabs(db: Database, principal: Principal): Promise<Lab[]> {
  permit(principal, 'readShared');
  const rows = await db.select().from(lab).orderBy(sql`${lab.slug} collate "C"`);
  return rows.map(presentLab);
}

/** @throws Refusal 'not-found' */
export async function getLab(db: Database, principal: Principal, slug: string): Promise<Lab> {
  permit(principal, 'readShared');
  return presentLab(await requireLab(db, slug));
}

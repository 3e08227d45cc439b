/** Sharing: a shot that is shared stays so through later revisions. */
import { and, eq, isNull, sql } from 'drizzle-orm';
import { fault } from '../../shared/fault.ts';
import { Refusal } from '../../shared/refusal.ts';
import { appendAudit } from '../access/audit.ts';
import { bumpLabVersion, lockLab } from '../access/lab-version.ts';
import { requireLab } from '../access/labs.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import type { Database, Transaction } from '../store/database.ts';
import { shot } from '../store/schema.ts';
import { shareById } from './store/share-by-id.ts';

/** Which shots: by label, or all that the lab has now. */
export type SharingInput = { readonly labels: readonly string[] } | { readonly all: true };

export interface SharingResult {
  readonly shared: number;
  readonly alreadyShared: number;
}

async function chosenShots(tx: Transaction, labId: number, input: SharingInput): Promise<string[]> {
  const labels = 'labels' in input ? [...new Set(input.labels)] : null;
  const named = labels === null ? undefined : sql`${shot.label} = any(${sql.param(labels)}::text[])`;
  const rows = await tx
    .select({ id: shot.id, label: shot.label })
    .from(shot)
    .where(and(eq(shot.labId, labId), isNull(shot.withdrawnAt), named));
  if (labels !== null && rows.length < labels.length) {
    const known = new Set(rows.map(({ label }) => label));
    const faults = labels
      .flatMap((label, index) =>
        known.has(label)
          ? []
          : [fault('structure-invalid', `/labels/${index}`, label, 'the label of a shot of the lab')],
      )
      .slice(0, 100);
    throw new Refusal('request-invalid', 'Some labels belong to no shot of the lab; nothing was shared.', { faults });
  }
  return rows.map(({ id }) => id);
}

/**
 * Shares shots of a lab with everybody, now.
 *
 * @throws Refusal unauthenticated, forbidden, not-found (lab), request-invalid (labels of no shot; nothing is shared)
 */
export async function shareShots(
  db: Database,
  principal: Principal,
  labSlug: string,
  input: SharingInput,
): Promise<SharingResult> {
  permit(principal, 'changeShots', labSlug);
  return db.transaction(async (tx) => {
    const { id: labId } = await requireLab(tx, labSlug);
    await lockLab(tx, labId);
    const ids = await chosenShots(tx, labId, input);
    const shared = await shareById(tx, ids, new Date());
    if (shared > 0) {
      await appendAudit(tx, labId, { tokenId: principal.tokenId, kind: 'shots-shared', detail: { shots: shared } });
      await bumpLabVersion(tx, labId, { sharedChanged: true });
    }
    return { shared, alreadyShared: ids.length - shared };
  });
}

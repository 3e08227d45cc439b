/** Sharing: a shot that is shared stays so through later revisions, until it is taken back or withdrawn. */
import { sql } from 'drizzle-orm';
import { Refusal } from '../../shared/refusal.ts';
import type { ShotChoice } from '../../shared/sharing.ts';
import { appendAudit } from '../access/audit.ts';
import { bumpLabVersion, lockLab } from '../access/lab-version.ts';
import { requireLab } from '../access/labs.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import type { Database, Transaction } from '../store/database.ts';
import { release } from '../store/schema.ts';
import { chooseShots } from './choose-shots.ts';
import { shareById } from './store/share-by-id.ts';

export interface SharingResult {
  readonly shared: number;
  readonly alreadyShared: number;
}

/** Shares shots of a lab whose row is locked, with its place in the audit chain and the lab's version. */
export async function shareInLab(
  tx: Transaction,
  labId: number,
  ids: readonly string[],
  tokenId: string | null,
  detail: Readonly<Record<string, unknown>> = {},
): Promise<number> {
  const shared = await shareById(tx, ids, new Date());
  if (shared > 0) {
    await appendAudit(tx, labId, { tokenId, kind: 'shots-shared', detail: { shots: shared, ...detail } });
    await bumpLabVersion(tx, labId, { sharedChanged: true });
  }
  return shared;
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
  choice: ShotChoice,
): Promise<SharingResult> {
  permit(principal, 'changeShots', labSlug);
  return db.transaction(async (tx) => {
    const { id: labId } = await requireLab(tx, labSlug);
    await lockLab(tx, labId);
    const ids = await chooseShots(tx, labId, choice);
    const shared = await shareInLab(tx, labId, ids, principal.tokenId);
    return { shared, alreadyShared: ids.length - shared };
  });
}

export interface UnsharingResult {
  readonly unshared: number;
  readonly notShared: number;
}

/** Labels of the first shots among these that a release holds. */
async function released(tx: Transaction, ids: readonly string[]): Promise<{ shots: number; labels: string[] }> {
  const { rows } = await tx.execute<{ label: string }>(sql`
    select shot.label from shot
    where shot.id in (select given.id::uuid from unnest(${sql.param([...ids])}::text[]) as given(id))
      and exists (
        select 1 from shot_revision join release_member on release_member.revision_id = shot_revision.id
        where shot_revision.shot_id = shot.id)
    order by shot.label collate "C"`);
  return { shots: rows.length, labels: rows.slice(0, 20).map(({ label }) => label) };
}

/**
 * Takes shots back from everybody else: possible until a release holds them.
 *
 * @throws Refusal unauthenticated, forbidden, not-found (lab), request-invalid (labels of no shot), shot-released
 *   (nothing is changed)
 */
export async function unshareShots(
  db: Database,
  principal: Principal,
  labSlug: string,
  choice: ShotChoice,
): Promise<UnsharingResult> {
  permit(principal, 'changeShots', labSlug);
  return db.transaction(async (tx) => {
    // Waits for a release that is being frozen, and keeps the next one waiting.
    await tx.execute(sql`lock table ${release} in row exclusive mode`);
    const { id: labId } = await requireLab(tx, labSlug);
    await lockLab(tx, labId);
    const ids = await chooseShots(tx, labId, choice);
    const held = await released(tx, ids);
    if (held.shots > 0) {
      const named = held.labels.join(', ') + (held.shots > held.labels.length ? ', ...' : '');
      throw new Refusal('shot-released', `${held.shots} of the shots are in a release: ${named}.`);
    }
    const wanted = sql`(select given.id::uuid from unnest(${sql.param(ids)}::text[]) as given(id))`;
    const { rows } = await tx.execute<{ one: number }>(sql`
      update shot set shared = false, shared_at = null where id in ${wanted} and shared returning 1 as one`);
    await tx.execute(sql`update hot_shot set shared = false where shot_id in ${wanted} and shared`);
    if (rows.length > 0) {
      const detail = { shots: rows.length };
      await appendAudit(tx, labId, { tokenId: principal.tokenId, kind: 'shots-unshared', detail });
      await bumpLabVersion(tx, labId, { sharedChanged: true });
    }
    return { unshared: rows.length, notShared: ids.length - rows.length };
  });
}

/** Activation: in one transaction the answers change from one method version to the other, everywhere at once. */
import { asc, eq } from 'drizzle-orm';
import type { Recomputation } from '../../../shared/recomputation.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { appendAudit } from '../../access/audit.ts';
import { bumpLabVersion } from '../../access/lab-version.ts';
import { permit } from '../../access/permissions.ts';
import type { Principal } from '../../access/principal.ts';
import { publishNotice } from '../../notices/publish-notice.ts';
import type { Database } from '../../store/database.ts';
import { lab, recomputation, serverState } from '../../store/schema.ts';
import { compareMethods } from './compare-methods.ts';
import { countShots } from './pending-shots.ts';
import { rebuildHotRows } from './rebuild-hot-rows.ts';
import { presentRecomputation } from './recomputations.ts';

/**
 * Activates the method of a finished recomputation: the hot table is made anew, every lab version moves, and the
 * receipt keeps what changed. A second activation gives the same receipt. Releases keep the method they were frozen
 * under.
 *
 * @throws Refusal forbidden, not-found; recomputation-unfinished; method-current when another method was activated
 *   since it was started
 */
export async function activateMethod(db: Database, principal: Principal, id: string): Promise<Recomputation> {
  permit(principal, 'changeMethod');
  return db.transaction(async (tx) => {
    // All labs first, in one order: no upload is half-way, and none waits for what this holds while holding its lab.
    const labs = await tx.select({ id: lab.id, slug: lab.slug }).from(lab).orderBy(asc(lab.id)).for('no key update');
    const [state] = await tx.select().from(serverState).for('update');
    const [found] = await tx.select().from(recomputation).where(eq(recomputation.id, id)).for('update');
    if (found === undefined) throw new Refusal('not-found', `There is no recomputation ${id}.`);
    if (found.activatedAt !== null) return presentRecomputation(tx, found);
    const { fromMethod, toMethod } = found;
    if (state?.activeMethod !== fromMethod) {
      throw new Refusal('method-current', `Method version ${state?.activeMethod} is active, not ${fromMethod}.`);
    }
    const { total, pending } = await countShots(tx, toMethod);
    if (pending > 0 || found.finishedAt === null) {
      throw new Refusal('recomputation-unfinished', `${total - pending} of ${total} shots have been derived.`);
    }
    const changes = await compareMethods(tx, fromMethod, toMethod);
    await tx.update(serverState).set({ activeMethod: toMethod });
    await publishNotice(tx, { kind: 'readAgain', what: 'versions' });
    for (const each of labs) await rebuildHotRows(tx, each, toMethod);
    const activated = { activatedAt: new Date(), changes };
    const [row] = await tx.update(recomputation).set(activated).where(eq(recomputation.id, id)).returning();
    if (row === undefined) throw new Error('the recomputation was not stored');
    const { tokenId } = principal;
    const detail = { from: fromMethod, to: toMethod, shots: changes.shots, changed: changes.changed };
    await appendAudit(tx, null, { tokenId, kind: 'method-activated', detail });
    for (const each of labs) await bumpLabVersion(tx, each.id, { sharedChanged: true });
    return presentRecomputation(tx, row);
  });
}

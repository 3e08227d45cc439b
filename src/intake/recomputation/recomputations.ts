/** Recomputations as resources: started, looked at, found again after a restart. */
import { asc, desc, eq, isNull } from 'drizzle-orm';
import type { MethodChanges, Recomputation } from '../../../shared/recomputation.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { appendAudit } from '../../access/audit.ts';
import { permit } from '../../access/permissions.ts';
import type { Principal } from '../../access/principal.ts';
import { type Methods, newestMethod } from '../../derivation/methods.ts';
import type { Database, Transaction } from '../../store/database.ts';
import { recomputation } from '../../store/schema.ts';
import { holdActiveMethod } from '../active-method.ts';
import { countShots } from './pending-shots.ts';

export type RecomputationRow = typeof recomputation.$inferSelect;

function stateOf({ activatedAt, finishedAt, failure }: RecomputationRow): Recomputation['state'] {
  if (activatedAt !== null) return 'activated';
  if (failure !== null) return 'failed';
  return finishedAt === null ? 'deriving' : 'derived';
}

export async function presentRecomputation(db: Database | Transaction, row: RecomputationRow): Promise<Recomputation> {
  const { total, pending } = await countShots(db, row.toMethod);
  return {
    id: row.id,
    fromMethod: row.fromMethod,
    toMethod: row.toMethod,
    state: stateOf(row),
    total,
    done: total - pending,
    refused: row.refused,
    failure: row.failure,
    startedAt: row.startedAt.toISOString(),
    finishedAt: row.finishedAt?.toISOString() ?? null,
    activatedAt: row.activatedAt?.toISOString() ?? null,
    // Written by this service under its own schema.
    changes: row.changes as MethodChanges | null,
  };
}

/**
 * The recomputation to the newest method version: made, or found and set going again from where it stopped.
 *
 * @throws Refusal forbidden; method-current when the newest version is the active one
 */
export async function startRecomputation(db: Database, principal: Principal, methods: Methods): Promise<Recomputation> {
  permit(principal, 'changeMethod');
  const toMethod = newestMethod(methods);
  return db.transaction(async (tx) => {
    const fromMethod = await holdActiveMethod(tx);
    if (fromMethod === toMethod || !methods.has(fromMethod)) {
      throw new Refusal(
        'method-current',
        `Method version ${fromMethod} is active; this server has ${[...methods.keys()].join(', ')}.`,
      );
    }
    const { tokenId } = principal;
    const made = await tx
      .insert(recomputation)
      .values({ fromMethod, toMethod, tokenId })
      .onConflictDoNothing({ target: recomputation.toMethod })
      .returning();
    if (made.length > 0) {
      const detail = { from: fromMethod, to: toMethod };
      await appendAudit(tx, null, { tokenId, kind: 'recomputation-started', detail });
    } else {
      await tx
        .update(recomputation)
        .set({ failure: null, finishedAt: null, changes: null })
        .where(eq(recomputation.toMethod, toMethod));
    }
    const [row] = await tx.select().from(recomputation).where(eq(recomputation.toMethod, toMethod));
    if (row === undefined) throw new Error('the recomputation was not stored');
    return presentRecomputation(tx, row);
  });
}

/** @throws Refusal forbidden, not-found */
export async function getRecomputation(db: Database, principal: Principal, id: string): Promise<Recomputation> {
  permit(principal, 'changeMethod');
  const [row] = await db.select().from(recomputation).where(eq(recomputation.id, id));
  if (row === undefined) throw new Refusal('not-found', `There is no recomputation ${id}.`);
  return presentRecomputation(db, row);
}

/** Newest first. */
export async function listRecomputations(db: Database, principal: Principal): Promise<Recomputation[]> {
  permit(principal, 'changeMethod');
  const rows = await db.select().from(recomputation).orderBy(desc(recomputation.startedAt));
  const presented: Recomputation[] = [];
  for (const row of rows) presented.push(await presentRecomputation(db, row));
  return presented;
}

/** Those that are not finished, oldest first; for the runner. */
export function unfinishedRecomputations(db: Database): Promise<RecomputationRow[]> {
  return db.select().from(recomputation).where(isNull(recomputation.finishedAt)).orderBy(asc(recomputation.startedAt));
}

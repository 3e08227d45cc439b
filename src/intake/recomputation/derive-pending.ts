/** Derives every current shot under a method version, batch by batch; what is committed is never done twice. */
import { setImmediate } from 'node:timers/promises';
import { eq, sql } from 'drizzle-orm';
import type { Derive } from '../../derivation/methods.ts';
import type { Database } from '../../store/database.ts';
import { recomputation } from '../../store/schema.ts';
import { insertDerivations, type NewDerivation } from '../store/insert-derivations.ts';
import { PendingShots } from './pending-shots.ts';

const batchShots = 50;
/** Other requests wait at most about this long for the event loop. */
const longestTurn = 10;

export interface DerivePending {
  readonly recomputation: string;
  readonly method: string;
  readonly derive: Derive;
  /** Stops between two shots; the batch at hand is given up and done again next time. */
  readonly signal: AbortSignal;
}

/**
 * @returns true when no shot was left, false when it was stopped
 * @throws whatever the method throws; the batches before are committed
 */
export async function derivePending(db: Database, work: DerivePending): Promise<boolean> {
  const pending = new PendingShots(db, work.method);
  let turnStarted = performance.now();
  // Passes until one finds nothing: a server of an older build may have stored shots meanwhile.
  for (;;) {
    let after = 0;
    for (;;) {
      if (work.signal.aborted) return false;
      const batch = await pending.batch(after, batchShots);
      if (batch.length === 0) break;
      const made: NewDerivation[] = [];
      let refused = 0;
      for (const { revisionId, shot, gear } of batch) {
        const { derived, faults } = work.derive(shot, gear);
        if (faults.length > 0) refused += 1;
        made.push({ revisionId, derived });
        after = revisionId;
        if (performance.now() - turnStarted > longestTurn) {
          await setImmediate();
          turnStarted = performance.now();
        }
        if (work.signal.aborted) return false;
      }
      await db.transaction(async (tx) => {
        await insertDerivations(tx, made);
        await tx
          .update(recomputation)
          .set({ refused: sql`${recomputation.refused} + ${refused}` })
          .where(eq(recomputation.id, work.recomputation));
      });
    }
    if (after === 0) return true;
  }
}

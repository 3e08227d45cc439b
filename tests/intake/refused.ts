/** The refusal of a piece of work that must be refused. */
import { Refusal } from '../../shared/refusal.ts';
import type { Receipt } from '../../shared/submission.ts';

/** @throws Error when the work succeeds, or fails in another way */
export async function refused(work: Promise<unknown>): Promise<{ error: Refusal; receipt: Receipt }> {
  const error: unknown = await work.then(
    () => null,
    (thrown: unknown) => thrown,
  );
  if (!(error instanceof Refusal)) throw new Error('it was not refused', { cause: error });
  return { error, receipt: error.extra.receipt as Receipt };
}

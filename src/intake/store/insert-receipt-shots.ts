/**
 * What happened to each shot of a submission, kept with its receipt. Derived values of a stored shot are not kept again:
 * they are those of its revision.
 */
import { sql } from 'drizzle-orm';
import type { ReceiptShot } from '../../../shared/submission.ts';
import type { Transaction } from '../../store/database.ts';
import { unnest } from './unnest.ts';

export async function insertReceiptShots(
  tx: Transaction,
  submissionId: string,
  shots: readonly ReceiptShot[],
): Promise<void> {
  const given = unnest(shots, [
    { name: 'position', type: 'int', of: ({ position }) => position },
    { name: 'label', type: 'text', of: ({ label }) => label },
    { name: 'state', type: 'text', of: ({ state }) => state },
    { name: 'shot_id', type: 'text', of: ({ shot }) => shot },
    { name: 'revision', type: 'int', of: ({ revision }) => revision },
    {
      name: 'derived',
      type: 'text',
      of: ({ shot, derived }) => (shot !== null || derived === null ? null : JSON.stringify(derived)),
    },
    { name: 'faults', type: 'text', of: ({ faults }) => JSON.stringify(faults) },
  ]);
  await tx.execute(sql`
    insert into submission_shot (submission_id, position, label, state, shot_id, revision, derived, faults)
    select ${submissionId}::uuid, position, label, state, shot_id::uuid, revision, derived::jsonb, faults::jsonb
    from ${given}`);
}

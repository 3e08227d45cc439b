/**
 * What happened to each shot of a submission, kept with its receipt. Derived values of a stored shot are not kept again:
 * they are those of its revision.
 */
import type { ReceiptShot } from '../../../shared/submission.ts';
import { copyRows } from '../../store/copy-rows.ts';
import type { Transaction } from '../../store/database.ts';

const target = 'submission_shot (submission_id, position, label, state, shot_id, revision, derived, faults)';
const noFaults = Buffer.from('[]');

/** What happened to a shot, with the JSON text of what was derived from it. */
export interface ReceiptRow extends Omit<ReceiptShot, 'derived'> {
  readonly derived: Uint8Array | null;
}

export async function insertReceiptShots(
  tx: Transaction,
  submissionId: string,
  shots: readonly ReceiptRow[],
): Promise<void> {
  await copyRows(tx, target, (rows) => {
    for (const { position, label, state, shot, revision, derived, faults } of shots) {
      rows.row(8).hexadecimal(submissionId).int4(position).text(label).text(state).hexadecimal(shot).int4(revision);
      if (shot !== null || derived === null) rows.null();
      else rows.jsonb(derived);
      rows.jsonb(faults.length === 0 ? noFaults : Buffer.from(JSON.stringify(faults)));
    }
  });
}

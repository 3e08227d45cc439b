/** A receipt as it goes over the wire. */
import type { Receipt, ReceiptShot, ShotState } from '../../shared/submission.ts';

export interface ReceiptFacts {
  readonly id: string;
  readonly lab: string;
  readonly receivedAt: Date;
  readonly dryRun: boolean;
  readonly stored: boolean;
  readonly counts: Readonly<Record<ShotState, number>>;
  /** The first rejected shots. */
  readonly rejected: readonly ReceiptShot[];
  readonly remarks: readonly string[];
}

export function receiptOf(facts: ReceiptFacts): Receipt {
  const { id, lab, receivedAt, dryRun, stored, counts, rejected, remarks } = facts;
  return {
    submission: id,
    lab,
    receivedAt: receivedAt.toISOString(),
    dryRun,
    stored,
    counts: { ...counts },
    rejected: [...rejected],
    remarks: [...remarks],
    shots: `/v1/submissions/${id}/shots`,
  };
}

/** The one transaction of a submission. What is acknowledged is committed; a refused submission leaves its receipt. */
import { eq } from 'drizzle-orm';
import type { Receipt, SubmissionOptions } from '../../../shared/submission.ts';
import { appendAudit } from '../../access/audit.ts';
import { bumpLabVersion, lockLab } from '../../access/lab-version.ts';
import type { MethodsInUse } from '../../derivation/methods.ts';
import { publishNotice } from '../../notices/publish-notice.ts';
import type { Database, Transaction } from '../../store/database.ts';
import { lab, submission } from '../../store/schema.ts';
import { holdActiveMethod } from '../active-method.ts';
import type { KeepAnswer } from '../idempotency.ts';
import type { SentPlace, SubmissionMedia } from '../read/sent-shot.ts';
import { receiptOf } from '../receipt-of.ts';
import { remarksOn } from '../remarks.ts';
import type { Spool } from '../spool.ts';
import type { Arrival } from './accepted-shot.ts';
import { type PassResult, ShotRejected, storeSpool } from './store-spool.ts';

export interface Cause {
  readonly purpose: 'upload' | 'amendment' | 'adoption';
  readonly reason: string | null;
  /** Facts for the audit chain. */
  readonly detail: Readonly<Record<string, unknown>>;
}

export interface SpooledSubmission {
  readonly id: string;
  readonly labId: number;
  readonly labSlug: string;
  readonly tokenId: string | null;
  readonly media: SubmissionMedia;
  readonly options: Pick<SubmissionOptions, 'dryRun' | 'accept' | 'revise'>;
  readonly spool: Spool;
  /** Before the first byte was read: nothing of the submission was known to the server earlier. */
  readonly receivedAt: Date;
  /** Those that the spooled shots are derived under. */
  readonly methods: MethodsInUse;
  readonly columns: SentPlace['columns'];
  /** Shots known to be rejected before the transaction. */
  readonly rejected: number;
  /** Why stored shots change, when it is not an upload. */
  readonly cause?: Cause | undefined;
  /** Keeps the answer for a repeat, in the same transaction. */
  readonly keepAnswer?: KeepAnswer | undefined;
}

const mediaTypes = {
  json: 'application/json',
  ndjson: 'application/x-ndjson',
  csv: 'text/csv',
  multipart: 'multipart/form-data',
} as const;
const auditKinds = { upload: 'shots-submitted', amendment: 'shot-amended', adoption: 'gear-adopted' } as const;
const nothing = { created: 0, unchanged: 0, revised: 0, rejected: 0 } as const;

/** The row that the others refer to; its counts are filled in by the last statement of the pass. */
async function insertSubmission(tx: Transaction, sent: SpooledSubmission, receivedAt: Date, stored: boolean) {
  const row = {
    id: sent.id,
    labId: sent.labId,
    tokenId: sent.tokenId,
    receivedAt,
    mediaType: mediaTypes[sent.media],
    dryRun: sent.options.dryRun,
    accept: sent.options.accept,
    revise: sent.options.revise,
    stored,
    createdCount: 0,
    unchangedCount: 0,
    revisedCount: 0,
    rejectedCount: 0,
    reason: sent.cause?.reason ?? null,
    purpose: sent.cause?.purpose ?? 'upload',
  };
  await tx.insert(submission).values(row);
  return async ({ created, unchanged, revised, rejected }: PassResult['counts']): Promise<void> => {
    const counts = {
      createdCount: created,
      unchangedCount: unchanged,
      revisedCount: revised,
      rejectedCount: rejected,
    };
    await tx.update(submission).set(counts).where(eq(submission.id, sent.id));
  };
}

async function present(
  tx: Transaction,
  sent: SpooledSubmission,
  stored: boolean,
  result: PassResult,
): Promise<Receipt> {
  const { id, labSlug, options, receivedAt } = sent;
  const { counts, rejected } = result;
  const remarks = await remarksOn(tx, id);
  return receiptOf({ id, lab: labSlug, receivedAt, dryRun: options.dryRun, stored, counts, rejected, remarks });
}

/** Decides and keeps the receipt, stores no shot. */
async function recordOnly(tx: Transaction, sent: SpooledSubmission): Promise<Receipt> {
  const { columns, options, receivedAt, methods } = sent;
  const fill = await insertSubmission(tx, sent, receivedAt, false);
  const pass = { write: false, allOrNothing: false, revise: options.revise, columns, nextOrdinal: 0, methods };
  const result = await storeSpool(tx, arrivalOf(sent, receivedAt), sent.spool, pass);
  await fill(result.counts);
  const receipt = await present(tx, sent, false, result);
  await sent.keepAnswer?.(tx, receipt);
  return receipt;
}

function arrivalOf({ id, labId, labSlug }: SpooledSubmission, receivedAt: Date): Arrival {
  return { submissionId: id, labId, labSlug, receivedAt };
}

async function storeShots(tx: Transaction, sent: SpooledSubmission, nextOrdinal: number): Promise<Receipt> {
  const { labId, options, columns, receivedAt, methods } = sent;
  const activeMethod = await holdActiveMethod(tx);
  const fill = await insertSubmission(tx, sent, receivedAt, true);
  const pass = {
    write: true,
    allOrNothing: options.accept === 'all',
    revise: options.revise,
    columns,
    nextOrdinal,
    methods,
    activeMethod,
  };
  const result = await storeSpool(tx, arrivalOf(sent, receivedAt), sent.spool, pass);
  await fill(result.counts);
  const receipt = await present(tx, sent, true, result);
  await sent.keepAnswer?.(tx, receipt);
  const { created, revised } = result.counts;
  if (created + revised + result.onlyShared > 0) {
    await tx.update(lab).set({ nextOrdinal: result.nextOrdinal }).where(eq(lab.id, labId));
    const counts = { submission: sent.id, ...nothing, ...result.counts, shared: result.onlyShared };
    const { purpose, reason, detail } = sent.cause ?? { purpose: 'upload', reason: null, detail: {} };
    await appendAudit(tx, labId, {
      tokenId: sent.tokenId,
      kind: auditKinds[purpose],
      detail: { ...detail, ...counts, ...(reason === null ? {} : { reason }) },
    });
    const { sharedChanged } = result;
    const { id, labSlug } = sent;
    await publishNotice(tx, { kind: 'submissionAccepted', lab: labSlug, submission: id, shared: sharedChanged });
    await bumpLabVersion(tx, labId, { sharedChanged });
  }
  return receipt;
}

/** Thrown to take back the receipt of a refusal that turned out to be none. */
class NothingRejected extends Error {}

/** The receipt of a submission with shots known to be wrong; null, and nothing kept, when under the lock none is. */
async function recordRefusal(tx: Transaction, sent: SpooledSubmission): Promise<Receipt | null> {
  try {
    return await tx.transaction(async (inner) => {
      const receipt = await recordOnly(inner, sent);
      if (receipt.counts.rejected === 0) throw new NothingRejected();
      return receipt;
    });
  } catch (error) {
    if (error instanceof NothingRejected) return null;
    throw error;
  }
}

/**
 * Stores a spooled submission. The receipt says stored: false on a dry run, and when accept=all met a rejected shot.
 */
export async function storeSubmission(db: Database, sent: SpooledSubmission): Promise<Receipt> {
  const { options, labId } = sent;
  return db.transaction(async (tx) => {
    // A dry run changes nothing of the lab, but it keeps first receipts, which two of them must not cross over.
    const { nextOrdinal } = await lockLab(tx, labId);
    if (options.dryRun) return recordOnly(tx, sent);
    if (options.accept === 'all' && sent.rejected > 0) {
      // What is stored by now may have settled the faults: a shot says the same as the stored one, or keeps its gear.
      const refusal = await recordRefusal(tx, sent);
      if (refusal !== null) return refusal;
    }
    try {
      // A savepoint: a shot rejected half-way takes back what was written, and the lock stays for the receipt.
      return await tx.transaction((inner) => storeShots(inner, sent, nextOrdinal));
    } catch (error) {
      if (error instanceof ShotRejected) return recordOnly(tx, sent);
      throw error;
    }
  });
}

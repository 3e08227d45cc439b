/**
 * An upload that is sent again under the same Idempotency-Key is answered with what was answered first. The answer is
 * kept in the transaction that stores the shots, so that there is never one without the other, and the mark of an
 * upload in progress ends by itself when its server no longer renews it.
 */
import { createHash, randomUUID } from 'node:crypto';
import { and, eq, isNull, sql } from 'drizzle-orm';
import { Refusal } from '../../shared/refusal.ts';
import type { Receipt } from '../../shared/submission.ts';
import type { Database, Transaction } from '../store/database.ts';
import { idempotencyKey } from '../store/schema.ts';

/** Answers are kept so long. */
const keptDays = 7;
/** A mark that was not renewed for so long is that of a dead server. */
const leaseSeconds = 30;
const renewalMilliseconds = 10_000;
/** When to ask again while the first upload is in progress. */
const retryAfterSeconds = 5;

/** Digest of an upload, computed as it passes: what was asked, then every byte. */
export class UploadDigest {
  readonly #hash = createHash('sha256');

  /** @param asked whatever else decides the answer, such as lab and options */
  constructor(asked: Readonly<Record<string, unknown>>) {
    this.#hash.update(`${JSON.stringify(asked)}\n`);
  }

  update(bytes: Uint8Array | string): void {
    this.#hash.update(bytes);
  }

  async *of(body: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
    for await (const chunk of body) {
      this.#hash.update(chunk);
      yield chunk;
    }
  }

  /** Once, after the last byte. */
  hex(): string {
    return this.#hash.digest('hex');
  }
}

/** Keeps the answer; called inside the transaction that stores it. */
export type KeepAnswer = (tx: Transaction, receipt: Receipt) => Promise<void>;

export interface KeyedUpload {
  readonly tokenId: string;
  readonly key: string;
  readonly digest: UploadDigest;
}

const lease = sql.raw(`interval '${leaseSeconds} seconds'`);
const expired = sql`idempotency_key.started_at < clock_timestamp() - interval '${sql.raw(String(keptDays))} days'`;

interface StoredAnswer {
  readonly digest: string;
  readonly receipt: Receipt;
}

/** Marks the key as in progress, or finds what was answered. */
async function claimKey(db: Database, { tokenId, key }: KeyedUpload, claim: string): Promise<StoredAnswer | null> {
  const claimed = await db.execute<{ one: number }>(sql`
    insert into idempotency_key (token_id, key, claim, started_at, alive_until)
    values (${tokenId}::uuid, ${key}, ${claim}::uuid, clock_timestamp(), clock_timestamp() + ${lease})
    on conflict (token_id, key) do update
      set claim = excluded.claim, started_at = excluded.started_at, alive_until = excluded.alive_until,
        body_digest = null, receipt = null
      where ${expired} or (idempotency_key.receipt is null and idempotency_key.alive_until < clock_timestamp())
    returning 1 as one`);
  if (claimed.rows.length > 0) return null;
  const [row] = await db
    .select({ digest: idempotencyKey.bodyDigest, receipt: idempotencyKey.receipt })
    .from(idempotencyKey)
    .where(and(eq(idempotencyKey.tokenId, tokenId), eq(idempotencyKey.key, key)));
  if (row !== undefined && row.receipt !== null && row.digest !== null) {
    // Receipts kept by an older server have no remarks.
    const kept = JSON.parse(row.receipt) as Omit<Receipt, 'remarks'> & Partial<Pick<Receipt, 'remarks'>>;
    return { digest: row.digest, receipt: { ...kept, remarks: kept.remarks ?? [] } };
  }
  // Also when the first upload gave the key free between the two questions: asking again is then answered.
  throw inProgress();
}

function inProgress(): Refusal {
  return new Refusal('upload-in-progress', 'An upload with this Idempotency-Key has not been answered yet.', {
    retryAfterSeconds,
  });
}

const ofClaim = (claim: string) => and(eq(idempotencyKey.claim, claim), isNull(idempotencyKey.receipt));

function renewing(db: Database, claim: string): () => void {
  const timer = setInterval(() => {
    // One renewal that fails is made up for by the next; the answer is only kept while the claim holds.
    db.update(idempotencyKey)
      .set({ aliveUntil: sql`clock_timestamp() + ${lease}` })
      .where(ofClaim(claim))
      .then(
        () => {},
        () => {},
      );
  }, renewalMilliseconds);
  timer.unref();
  return () => clearInterval(timer);
}

async function keep(tx: Transaction, claim: string, bodyDigest: string, receipt: Receipt): Promise<void> {
  const kept = await tx
    .update(idempotencyKey)
    .set({ bodyDigest, receipt: JSON.stringify(receipt) })
    .where(ofClaim(claim))
    .returning({ key: idempotencyKey.key });
  // Another upload took the key over while this one stood still: it answers, and this one stores nothing.
  if (kept.length === 0) throw inProgress();
}

/**
 * Does the work once for a key and answers repeats with its receipt.
 *
 * @param readOn reads the rest of the body of a repeat through the digest
 * @param work stores the upload and keeps its receipt by the function given, in one transaction. When it throws, the
 *   key is free again
 * @throws Refusal upload-in-progress, idempotency-key-reused, and what `work` throws
 */
export async function answerOnce(
  db: Database,
  upload: KeyedUpload,
  readOn: () => Promise<void>,
  work: (keepAnswer: KeepAnswer) => Promise<Receipt>,
): Promise<Receipt> {
  const claim = randomUUID();
  const answered = await claimKey(db, upload, claim);
  if (answered !== null) {
    await readOn();
    if (upload.digest.hex() === answered.digest) return answered.receipt;
    throw new Refusal(
      'idempotency-key-reused',
      `This key belongs to submission ${answered.receipt.submission}, whose body or options were others.`,
    );
  }
  const stop = renewing(db, claim);
  try {
    return await work((tx, receipt) => keep(tx, claim, upload.digest.hex(), receipt));
  } catch (error) {
    // A database that is away cannot give the key free; its lease ends by itself.
    await db
      .delete(idempotencyKey)
      .where(ofClaim(claim))
      .catch(() => {});
    throw error;
  } finally {
    stop();
  }
}

/** Removes what is older than a week. @returns how many */
export async function forgetOldKeys(db: Database): Promise<number> {
  const gone = await db.delete(idempotencyKey).where(expired).returning({ key: idempotencyKey.key });
  return gone.length;
}

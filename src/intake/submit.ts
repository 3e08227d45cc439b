/** Takes an upload of shots from its first byte to its receipt. */
import { randomUUID } from 'node:crypto';
import { printable } from '../../shared/fault.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { Receipt, SubmissionOptions } from '../../shared/submission.ts';
import { loadGearBook } from '../access/gear.ts';
import { requireLab } from '../access/labs.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { type Methods, publishedMethods } from '../derivation/methods.ts';
import type { Database } from '../store/database.ts';
import { databaseClock } from '../store/database-clock.ts';
import { readActiveMethod, requireMethods } from './active-method.ts';
import { answerOnce, type KeepAnswer, UploadDigest } from './idempotency.ts';
import type { IntakeLimits } from './limits.ts';
import { boundedBody, readShots } from './read/read-shots.ts';
import type { SubmissionMedia } from './read/sent-shot.ts';
import { Spool } from './spool.ts';
import { spoolLines } from './spool-lines.ts';
import { spoolShots } from './spool-shots.ts';
import { storeSubmission } from './store/store-submission.ts';

/** The upload as it was asked for: its key, when it is to be answered once, and the reason of a correction. */
export interface UploadRequest {
  readonly idempotencyKey?: string | undefined;
  /** Method versions that this server has; the published ones when not given. */
  readonly methods?: Methods;
}

export interface SubmissionAnswer {
  /** 201 when a shot was created or revised, else 200. */
  readonly status: 200 | 201;
  readonly receipt: Receipt;
}

/**
 * Reads, checks and derives every shot of a body into a spool, then stores them in one transaction. An upload that
 * breaks off leaves nothing. Under an Idempotency-Key the same upload is answered once and repeats get that answer.
 *
 * @param body bytes as they arrive; no transaction is open while they do
 * @param request.methods those that this server has; the active one decides, a newer one is kept beside it
 * @throws Refusal forbidden, unauthenticated, not-found; body-too-large, body-too-slow, line-too-long, malformed-body,
 *   request-invalid; not-ready when this server lacks the active method; submission-rejected with the receipt when
 *   accept=all and a shot is not valid; upload-in-progress and idempotency-key-reused with a key
 */
export async function submitStream(
  db: Database,
  principal: Principal,
  labSlug: string,
  options: SubmissionOptions,
  media: SubmissionMedia,
  body: AsyncIterable<Uint8Array>,
  limits: IntakeLimits,
  { idempotencyKey, methods = publishedMethods }: UploadRequest = {},
): Promise<SubmissionAnswer> {
  permit(principal, 'changeShots', labSlug);
  const { tokenId } = principal;
  const take = (chunks: AsyncIterable<Uint8Array>, keepAnswer?: KeepAnswer) =>
    takeUpload(db, principal, labSlug, options, media, chunks, limits, { methods, keepAnswer });
  if (idempotencyKey === undefined || tokenId === null) return answerOf(await take(body), options);
  const digest = new UploadDigest({ lab: labSlug, options, media });
  const seen = digest.of(body);
  const readOn = async (): Promise<void> => {
    for await (const _chunk of boundedBody(seen, limits));
  };
  const receipt = await answerOnce(db, { tokenId, key: idempotencyKey, digest }, readOn, (keepAnswer) =>
    take(seen, keepAnswer),
  );
  return answerOf(receipt, options);
}

async function takeUpload(
  db: Database,
  { tokenId }: Principal,
  labSlug: string,
  options: SubmissionOptions,
  media: SubmissionMedia,
  body: AsyncIterable<Uint8Array>,
  limits: IntakeLimits,
  { methods, keepAnswer }: { readonly methods: Methods; readonly keepAnswer: KeepAnswer | undefined },
): Promise<Receipt> {
  const { id: labId } = await requireLab(db, labSlug);
  const active = await readActiveMethod(db);
  const inUse = requireMethods(methods, active);
  const book = await loadGearBook(db, labId);
  const receivedAt = await databaseClock(db);
  const spool = await Spool.create(limits.spoolDirectory);
  try {
    // Only what is published is known to another thread.
    const spooled =
      media === 'ndjson' && methods === publishedMethods
        ? await spoolLines(
            db,
            labId,
            book,
            { body: boundedBody(body, limits), lineBytes: limits.lineBytes },
            spool,
            active,
          )
        : await spoolShots(db, labId, book, readShots(media, body, limits), spool, inUse);
    const id = randomUUID();
    const reason = options.reason === undefined ? null : printable(options.reason);
    const cause = { purpose: 'upload', reason, detail: {} } as const;
    const arrived = { id, labId, labSlug, tokenId, media, options, spool, receivedAt, methods: inUse };
    return await storeSubmission(db, { ...arrived, keepAnswer, cause, ...spooled });
  } finally {
    await spool.remove();
  }
}

/** @throws Refusal submission-rejected */
export function answerOf(receipt: Receipt, { accept }: Pick<SubmissionOptions, 'accept'>): SubmissionAnswer {
  const { counts, dryRun, stored } = receipt;
  if (counts.rejected > 0 && accept === 'all' && !dryRun) {
    const detail = `${counts.rejected} of ${Object.values(counts).reduce((sum, count) => sum + count)} shots are not valid.`;
    throw new Refusal('submission-rejected', detail, { extra: { receipt } });
  }
  return { status: stored && counts.created + counts.revised > 0 ? 201 : 200, receipt };
}

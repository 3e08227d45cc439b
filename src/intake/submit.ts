/** Takes an upload of shots from its first byte to its receipt. */
import { randomUUID } from 'node:crypto';
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
import type { IntakeLimits } from './limits.ts';
import { readShots } from './read/read-shots.ts';
import type { SubmissionMedia } from './read/sent-shot.ts';
import { Spool } from './spool.ts';
import { spoolShots } from './spool-shots.ts';
import { storeSubmission } from './store/store-submission.ts';

export interface SubmissionAnswer {
  /** 201 when a shot was created or revised, else 200. */
  readonly status: 200 | 201;
  readonly receipt: Receipt;
}

/**
 * Reads, checks and derives every shot of a body into a spool, then stores them in one transaction. An upload that
 * breaks off leaves nothing.
 *
 * @param body bytes as they arrive; no transaction is open while they do
 * @param methods those that this server has; the active one decides, a newer one is kept beside it
 * @throws Refusal forbidden, unauthenticated, not-found; body-too-large, line-too-long, malformed-body,
 *   request-invalid; not-ready when this server lacks the active method; submission-rejected with the receipt when
 *   accept=all and a shot is not valid
 */
export async function submitStream(
  db: Database,
  principal: Principal,
  labSlug: string,
  options: SubmissionOptions,
  media: SubmissionMedia,
  body: AsyncIterable<Uint8Array>,
  limits: IntakeLimits,
  methods: Methods = publishedMethods,
): Promise<SubmissionAnswer> {
  permit(principal, 'changeShots', labSlug);
  const { id: labId } = await requireLab(db, labSlug);
  const inUse = requireMethods(methods, await readActiveMethod(db));
  const book = await loadGearBook(db, labId);
  const receivedAt = await databaseClock(db);
  const spool = await Spool.create(limits.spoolDirectory);
  let receipt: Receipt;
  try {
    const spooled = await spoolShots(db, labId, book, readShots(media, body, limits), spool, inUse);
    const { tokenId } = principal;
    receipt = await storeSubmission(db, {
      id: randomUUID(),
      labId,
      labSlug,
      tokenId,
      media,
      options,
      spool,
      receivedAt,
      methods: inUse,
      ...spooled,
    });
  } finally {
    await spool.remove();
  }
  const { counts, dryRun, stored } = receipt;
  if (counts.rejected > 0 && options.accept === 'all' && !dryRun) {
    const detail = `${counts.rejected} of ${Object.values(counts).reduce((sum, count) => sum + count)} shots are not valid.`;
    throw new Refusal('submission-rejected', detail, { extra: { receipt } });
  }
  return { status: stored && counts.created + counts.revised > 0 ? 201 : 200, receipt };
}

/**
 * Corrects stored shots: each is changed, checked and derived again into a spool, then one new revision per shot is
 * stored in one transaction. A shot that was revised in the meantime stops the whole correction.
 */
import { randomUUID } from 'node:crypto';
import type { Correction } from '../../../shared/correction.ts';
import { printable } from '../../../shared/fault.ts';
import type { Shot } from '../../../shared/shot.ts';
import type { SubmissionOptions } from '../../../shared/submission.ts';
import { loadGearBook } from '../../access/gear.ts';
import { publishedMethods } from '../../derivation/methods.ts';
import type { Database } from '../../store/database.ts';
import { databaseClock } from '../../store/database-clock.ts';
import { readActiveMethod, requireMethods } from '../active-method.ts';
import type { ParsedShot } from '../parse-shot.ts';
import { prepareShot } from '../prepare-shot.ts';
import { Spool } from '../spool.ts';
import { storeSubmission } from '../store/store-submission.ts';
import { EffectOfCorrection } from './correction-effect.ts';
import { loadStoredShots } from './load-stored-shots.ts';

export interface CorrectionRequest {
  readonly labId: number;
  readonly labSlug: string;
  readonly tokenId: string | null;
  readonly purpose: 'amendment' | 'adoption';
  readonly reason: string;
  /** Facts for the audit chain beside counts and reason. */
  readonly detail: Readonly<Record<string, unknown>>;
  readonly options: Pick<SubmissionOptions, 'dryRun' | 'accept'>;
  readonly spoolDirectory: string;
  /** Ids of the shots, in the order of the receipt. */
  readonly shots: readonly string[];
  readonly change: (shot: Shot) => ParsedShot;
}

/** Shots read at once; their tracks are held in memory. */
const batchShots = 50;

/**
 * The effect and the receipt. With accept=all and a refused shot nothing is stored, as the receipt says.
 *
 * @throws Refusal shot-changed
 */
export async function correctShots(db: Database, request: CorrectionRequest): Promise<Correction> {
  const { labId, labSlug, tokenId, purpose, reason, detail, options } = request;
  const receivedAt = await databaseClock(db);
  const methods = requireMethods(publishedMethods, await readActiveMethod(db));
  const book = await loadGearBook(db, labId);
  const effect = new EffectOfCorrection();
  const spool = await Spool.create(request.spoolDirectory);
  try {
    let position = 0;
    let rejected = 0;
    for (let from = 0; from < request.shots.length; from += batchShots) {
      for (const stored of await loadStoredShots(db, request.shots.slice(from, from + batchShots))) {
        position += 1;
        const { label, contentHash } = stored;
        const sent = { position, row: null, columns: null, label, parsed: request.change(stored.shot) };
        const prepared = { ...prepareShot(sent, book, null, methods), basedOn: contentHash };
        if (prepared.faults.length > 0) rejected += 1;
        effect.meet(label, stored.derived, prepared.faults.length > 0 ? null : (prepared.ready?.derived ?? null));
        await spool.append(prepared);
      }
    }
    const receipt = await storeSubmission(db, {
      id: randomUUID(),
      labId,
      labSlug,
      tokenId,
      media: 'json',
      options: { ...options, revise: true },
      spool,
      receivedAt,
      methods,
      columns: null,
      rejected,
      cause: { purpose, reason: printable(reason), detail },
    });
    return { effect: effect.result(), receipt };
  } finally {
    await spool.remove();
  }
}

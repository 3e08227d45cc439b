/** One shot amended: some fields change, the rest stays as sent, and the reason stands in its history. */
import type { AmendmentInput, Correction } from '../../../shared/correction.ts';
import { fault } from '../../../shared/fault.ts';
import { Refusal } from '../../../shared/refusal.ts';
import type { SubmissionOptions } from '../../../shared/submission.ts';
import { requireLab } from '../../access/labs.ts';
import { permit } from '../../access/permissions.ts';
import type { Principal } from '../../access/principal.ts';
import type { Database } from '../../store/database.ts';
import { parseShot } from '../parse-shot.ts';
import { getShot } from '../shots.ts';
import { correctShots } from './correct-shots.ts';
import { mergePatch } from './merge-patch.ts';

function checkChanges(changes: Readonly<Record<string, unknown>>): void {
  const faults = ['label', 'shared']
    .filter((key) => key in changes)
    .map((key) => fault('structure-invalid', `/changes/${key}`, changes[key], 'no such field in an amendment'));
  if (faults.length > 0) throw new Refusal('request-invalid', 'A shot keeps its label and its sharing.', { faults });
}

/**
 * @param options dryRun=true shows the effect and stores nothing
 * @throws Refusal unauthenticated, forbidden, not-found (also a withdrawn shot), request-invalid, shot-changed when the
 *   revision amended is not the current one
 */
export async function amendShot(
  db: Database,
  principal: Principal,
  shotId: string,
  { revision, changes, reason }: AmendmentInput,
  options: Pick<SubmissionOptions, 'dryRun'>,
  spoolDirectory: string,
): Promise<Correction> {
  const stored = await getShot(db, principal, shotId);
  permit(principal, 'changeShots', stored.lab);
  if (stored.withdrawn !== null) throw new Refusal('not-found', `Shot ${shotId} was withdrawn.`);
  if (stored.revision !== revision) {
    throw new Refusal('shot-changed', `Revision ${revision} was amended; the current one is ${stored.revision}.`);
  }
  checkChanges(changes);
  const { id: labId } = await requireLab(db, stored.lab);
  return correctShots(db, {
    labId,
    labSlug: stored.lab,
    tokenId: principal.tokenId,
    purpose: 'amendment',
    reason,
    detail: { shot: shotId, label: stored.label, fields: Object.keys(changes).sort() },
    options: { ...options, accept: 'all' },
    spoolDirectory,
    shots: [shotId],
    change: (shot) => parseShot(mergePatch(shot, changes)),
  });
}

/** Shots of a lab adopt another version of their rig, cue or table, after its effect was looked at. */
import { and, eq, sql } from 'drizzle-orm';
import type { AdoptionInput, Correction } from '../../../shared/correction.ts';
import type { GearKind } from '../../../shared/gear.ts';
import { Refusal } from '../../../shared/refusal.ts';
import type { SubmissionOptions } from '../../../shared/submission.ts';
import { loadGearBook } from '../../access/gear.ts';
import { gearWords, usedGearColumns } from '../../access/gear-tables.ts';
import { requireLab } from '../../access/labs.ts';
import { permit } from '../../access/permissions.ts';
import type { Principal } from '../../access/principal.ts';
import type { Database } from '../../store/database.ts';
import { hotShot } from '../../store/schema.ts';
import { gearFields } from '../gear-references.ts';
import { correctShots } from './correct-shots.ts';

export interface GearName {
  readonly lab: string;
  readonly kind: GearKind;
  readonly name: string;
}

async function shotsOfVersion(
  db: Database,
  kind: GearKind,
  versionId: number,
  sessions: readonly string[] | undefined,
): Promise<string[]> {
  const ofSessions =
    sessions === undefined ? undefined : sql`${hotShot.sessionDate} = any(${sql.param([...sessions])}::date[])`;
  const rows = await db
    .select({ id: hotShot.shotId })
    .from(hotShot)
    .where(and(eq(usedGearColumns[kind], versionId), ofSessions))
    .orderBy(hotShot.ordinal);
  return rows.map(({ id }) => id);
}

/**
 * One new revision of each shot that names the version `from`, naming the version `to`.
 *
 * @param options dryRun=true shows the effect and stores nothing
 * @throws Refusal unauthenticated, forbidden, not-found (lab or version), request-invalid (the same version twice, or no
 *   shot meant), shot-changed
 */
export async function adoptGear(
  db: Database,
  principal: Principal,
  gear: GearName,
  { from, to, sessions, reason }: AdoptionInput,
  options: Pick<SubmissionOptions, 'dryRun' | 'accept'>,
  spoolDirectory: string,
): Promise<Correction> {
  const { lab: labSlug, kind, name } = gear;
  permit(principal, 'changeShots', labSlug);
  const { id: labId } = await requireLab(db, labSlug);
  const book = await loadGearBook(db, labId);
  const version = (number: number) => {
    const found = book.resolve(kind, `${name}@${number}`);
    if (found !== null) return found;
    throw new Refusal('not-found', `Lab ${labSlug} has no ${gearWords[kind]} ${name}@${number}.`);
  };
  const [earlier, later] = [version(from), version(to)];
  if (from === to) throw new Refusal('request-invalid', 'from and to name the same version.');
  const shots = await shotsOfVersion(db, kind, earlier.id, sessions);
  if (shots.length === 0) {
    const among = sessions === undefined ? 'of the lab' : 'of these sessions';
    throw new Refusal('request-invalid', `No shot ${among} names ${gearWords[kind]} ${name}@${from}.`);
  }
  return correctShots(db, {
    labId,
    labSlug,
    tokenId: principal.tokenId,
    purpose: 'adoption',
    reason,
    detail: { [gearFields[kind]]: name, from, to, ...(sessions === undefined ? {} : { sessions }) },
    options,
    spoolDirectory,
    shots,
    change: (shot) => ({ shot: { ...shot, [gearFields[kind]]: `${name}@${later.version}` }, faults: [] }),
  });
}

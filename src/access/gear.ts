/** Rigs, cues and tables of a lab. A version never changes; a mended calibration is a new version. */
import { and, desc, eq, exists, type SQL, sql } from 'drizzle-orm';
import { fault } from '../../shared/fault.ts';
import type { GearKind } from '../../shared/gear.ts';
import { slugSchema } from '../../shared/measure.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { Database, Transaction } from '../store/database.ts';
import { hotShot } from '../store/schema.ts';
import { appendAudit } from './audit.ts';
import { checkGear } from './check-gear.ts';
import { gearTables, gearWords, usedGearColumns } from './gear-tables.ts';
import { bumpLabVersion, lockLab } from './lab-version.ts';
import { requireLab } from './labs.ts';
import { may, permit } from './permissions.ts';
import type { Principal } from './principal.ts';
import { sightOf, visibleWhere } from './visibility.ts';

export { type GearBook, type GearVersion, loadGearBook } from './gear-book.ts';
export { type GearVersions, gearBookOf } from './gear-shelves.ts';

export interface GearRecord {
  /** Slug of the lab. */
  readonly lab: string;
  readonly name: string;
  readonly version: number;
  /** As sent, with canonical unit codes and defaults filled in. */
  readonly content: unknown;
  /** UTC instant. */
  readonly createdAt: string;
}

/**
 * Registers a piece of gear as version 1.
 * @throws Refusal 'forbidden', 'name-taken', 'request-invalid' with the faults of name and content
 */
export async function createGear(
  db: Database,
  principal: Principal,
  labSlug: string,
  kind: GearKind,
  name: string,
  content: unknown,
): Promise<GearRecord> {
  permit(principal, 'changeGear', labSlug);
  if (!slugSchema.safeParse(name).success) {
    const expected = 'lower-case letters, digits and hyphens, at most 40';
    const faults = [fault('structure-invalid', '/name', name, expected)];
    throw new Refusal('request-invalid', `This is no name for a ${gearWords[kind]}.`, { faults });
  }
  return storeVersion(db, principal, labSlug, kind, name, content, (newest) => {
    if (newest === 0) return;
    throw new Refusal('name-taken', `The lab has a ${gearWords[kind]} ${name} already.`);
  });
}

/**
 * Adds the next version of a piece of gear.
 * @param basedOn version that the content was made from; any when not given
 * @throws Refusal 'forbidden', 'not-found', 'name-taken' (another version came first), 'request-invalid' with the faults
 *   of the content
 */
export async function addGearVersion(
  db: Database,
  principal: Principal,
  labSlug: string,
  kind: GearKind,
  name: string,
  content: unknown,
  basedOn?: number,
): Promise<GearRecord> {
  permit(principal, 'changeGear', labSlug);
  return storeVersion(db, principal, labSlug, kind, name, content, (newest) => {
    if (newest === 0) throw new Refusal('not-found', `The lab has no ${gearWords[kind]} ${name}.`);
    if (basedOn === undefined || newest === basedOn) return;
    throw new Refusal('name-taken', `Version ${newest} of ${gearWords[kind]} ${name} was added meanwhile: send again.`);
  });
}

async function storeVersion(
  db: Database,
  principal: Principal,
  labSlug: string,
  kind: GearKind,
  name: string,
  sent: unknown,
  checkNewest: (newestVersion: number) => void,
): Promise<GearRecord> {
  const checked = checkGear(kind, sent);
  if (!checked.ok) {
    throw new Refusal('request-invalid', `The ${gearWords[kind]} cannot be kept as sent.`, { faults: checked.faults });
  }
  const table = gearTables[kind];
  return db.transaction(async (tx) => {
    const { id: labId } = await requireLab(tx, labSlug);
    await lockLab(tx, labId);
    const newest = await newestVersion(tx, labId, kind, name);
    checkNewest(newest);
    const rows = await tx
      .insert(table)
      .values({ labId, name, version: newest + 1, content: checked.content })
      .returning();
    const row = rows[0];
    if (row === undefined) throw new Error('The new version was not returned.');
    const detail = { name, version: row.version, content: checked.content };
    await appendAudit(tx, labId, { tokenId: principal.tokenId, kind: `${gearWords[kind]}-registered`, detail });
    await bumpLabVersion(tx, labId, { sharedChanged: false });
    return present(labSlug, row);
  });
}

async function newestVersion(tx: Transaction, labId: number, kind: GearKind, name: string): Promise<number> {
  const table = gearTables[kind];
  const rows = await tx
    .select({ version: table.version })
    .from(table)
    .where(and(eq(table.labId, labId), eq(table.name, name)))
    .orderBy(desc(table.version))
    .limit(1);
  return rows[0]?.version ?? 0;
}

/**
 * Every version of every rig, cue or table of a lab, by name, newest version first. Members of the lab see all, others
 * what visible shots were made with.
 * @throws Refusal 'not-found' (no such lab)
 */
export function listGear(db: Database, principal: Principal, labSlug: string, kind: GearKind): Promise<GearRecord[]> {
  return visibleVersions(db, principal, labSlug, kind);
}

/**
 * Every version of one piece of gear, newest first.
 * @throws Refusal 'not-found', also when no version of it may be seen
 */
export async function getGear(
  db: Database,
  principal: Principal,
  labSlug: string,
  kind: GearKind,
  name: string,
): Promise<GearRecord[]> {
  const versions = await visibleVersions(db, principal, labSlug, kind, eq(gearTables[kind].name, name));
  if (versions.length === 0)
    throw new Refusal('not-found', `There is no ${gearWords[kind]} ${name} of lab ${labSlug}.`);
  return versions;
}

async function visibleVersions(
  db: Database,
  principal: Principal,
  labSlug: string,
  kind: GearKind,
  which?: SQL,
): Promise<GearRecord[]> {
  permit(principal, 'readShared');
  const { id: labId } = await requireLab(db, labSlug);
  const table = gearTables[kind];
  const usedByVisibleShot = exists(
    db
      .select({ one: sql`1` })
      .from(hotShot)
      .where(and(eq(usedGearColumns[kind], table.id), visibleWhere(sightOf(principal), hotShot))),
  );
  const rows = await db
    .select()
    .from(table)
    .where(and(eq(table.labId, labId), which, may(principal, 'readLab', labSlug) ? undefined : usedByVisibleShot))
    .orderBy(sql`${table.name} collate "C"`, desc(table.version));
  return rows.map((row) => present(labSlug, row));
}

function present(
  labSlug: string,
  row: { readonly name: string; readonly version: number; readonly content: unknown; readonly createdAt: Date },
): GearRecord {
  const { name, version, content, createdAt } = row;
  return { lab: labSlug, name, version, content, createdAt: createdAt.toISOString() };
}

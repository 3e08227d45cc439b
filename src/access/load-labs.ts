/** Labs and their gear, several at once, for lists that show them. */
import { and, desc, eq, inArray, or, type SQL, sql } from 'drizzle-orm';
import type { GearKind } from '../../shared/gear.ts';
import type { Database } from '../store/database.ts';
import { hotShot, lab } from '../store/schema.ts';
import type { GearRecord } from './gear.ts';
import { gearTables, usedGearColumns } from './gear-tables.ts';
import { type Lab, presentLab } from './labs.ts';
import { permit } from './permissions.ts';
import type { Principal } from './principal.ts';
import { sightOf, visibleWhere } from './visibility.ts';

/** Labs by slug; those that do not exist are left out. */
export async function labsBySlug(
  db: Database,
  principal: Principal,
  slugs: readonly string[],
): Promise<Map<string, Lab>> {
  permit(principal, 'readShared');
  const rows = await db
    .select()
    .from(lab)
    .where(inArray(lab.slug, [...slugs]));
  return new Map(rows.map((row) => [row.slug, presentLab(row)]));
}

/**
 * Versions of one kind of gear of several labs, by lab, name and newest first. Members of a lab see all of theirs,
 * everybody what visible shots were made with.
 */
export async function gearOfLabs(
  db: Database,
  principal: Principal,
  kind: GearKind,
  which: { readonly labs: readonly string[]; readonly references?: readonly string[] },
): Promise<GearRecord[]> {
  permit(principal, 'readShared');
  const table = gearTables[kind];
  const sight = sightOf(principal);
  const used = sql`exists (${db
    .select({ one: sql`1` })
    .from(hotShot)
    .where(and(eq(usedGearColumns[kind], table.id), visibleWhere(sight, hotShot)))})`;
  const own: SQL | undefined = sight.ownLab === null ? undefined : eq(lab.slug, sight.ownLab);
  const named =
    which.references === undefined
      ? undefined
      : inArray(sql<string>`${table.name} || '@' || ${table.version}`, [...which.references]);
  const rows = await db
    .select({ lab: lab.slug, gear: table })
    .from(table)
    .innerJoin(lab, eq(lab.id, table.labId))
    .where(and(inArray(lab.slug, [...which.labs]), named, own === undefined ? used : or(own, used)))
    .orderBy(sql`${lab.slug} collate "C"`, sql`${table.name} collate "C"`, desc(table.version));
  return rows.map(({ lab: slug, gear: { name, version, content, createdAt } }) => ({
    lab: slug,
    name,
    version,
    content,
    createdAt: createdAt.toISOString(),
  }));
}

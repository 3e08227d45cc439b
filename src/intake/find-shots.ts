/** Finding current shots by what was derived from them, in any order, page by page; from the hot table. */
import { and, eq, inArray, type SQL, sql } from 'drizzle-orm';
import type { PgColumn } from 'drizzle-orm/pg-core';
import { flagMask } from '../../shared/flags.ts';
import type { VariableName } from '../../shared/quantities.ts';
import type { ShotOrder, ShotSearch } from '../../shared/shot-search.ts';
import { gearReferences } from '../access/gear-tables.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { sightOf, visibleWhere } from '../access/visibility.ts';
import type { Database } from '../store/database.ts';
import { cue, hotShot, lab, rig, tableSetup } from '../store/schema.ts';

/** A shot as lists show it. */
export interface FoundShot {
  readonly id: string;
  /** Slug. */
  readonly lab: string;
  readonly label: string;
  readonly ordinal: number;
  readonly shared: boolean;
  readonly rig: string;
  readonly cue: string | null;
  readonly table: string | null;
  readonly player: string | null;
  readonly sessionDate: string | null;
  /** Value that the list is ordered by; null where it is missing, or where the list is by lab and ordinal. */
  readonly orderedBy: number | null;
}

/** Where a page ended. */
export interface FoundPlace {
  readonly orderedBy: number | null;
  readonly lab: string;
  readonly ordinal: number;
}

const variableColumns: Readonly<Record<VariableName, PgColumn>> = hotShot;

function conditions(principal: Principal, search: ShotSearch): SQL | undefined {
  return and(
    visibleWhere(sightOf(principal), hotShot),
    search.labs === undefined ? undefined : inArray(lab.slug, [...search.labs]),
    search.players === undefined ? undefined : inArray(hotShot.player, [...search.players]),
    search.from === undefined ? undefined : sql`${hotShot.sessionDate} >= ${search.from}::date`,
    search.to === undefined ? undefined : sql`${hotShot.sessionDate} <= ${search.to}::date`,
    search.withFlags === undefined ? undefined : sql`(${hotShot.flags} & ${flagMask(search.withFlags)}) <> 0`,
    search.withoutFlags === undefined ? undefined : sql`(${hotShot.flags} & ${flagMask(search.withoutFlags)}) = 0`,
    ...(search.ranges ?? []).map(({ variable, min, max }) =>
      and(
        sql`${variableColumns[variable]} is not null`,
        min === undefined ? undefined : sql`${variableColumns[variable]} >= ${min}::float8`,
        max === undefined ? undefined : sql`${variableColumns[variable]} <= ${max}::float8`,
      ),
    ),
  );
}

/** What comes after a place: by value with missing ones last, then by lab and ordinal. */
function afterPlace(order: ShotOrder | null, { orderedBy, lab: slug, ordinal }: FoundPlace): SQL {
  const later = sql`(${lab.slug} collate "C", ${hotShot.ordinal}) > (${slug}::text collate "C", ${ordinal}::int)`;
  if (order === null) return later;
  const column = variableColumns[order.by];
  if (orderedBy === null) return sql`(${column} is null and ${later})`;
  const beyond = order.descending ? sql`${column} < ${orderedBy}::float8` : sql`${column} > ${orderedBy}::float8`;
  return sql`(${beyond} or ${column} is null or (${column} = ${orderedBy}::float8 and ${later}))`;
}

/**
 * Current shots that the principal may see.
 *
 * @param order by lab and ordinal when null
 * @throws Refusal unauthenticated
 */
export async function findShots(
  db: Database,
  principal: Principal,
  search: ShotSearch,
  order: ShotOrder | null,
  page: { readonly after: FoundPlace | null; readonly limit: number },
): Promise<FoundShot[]> {
  permit(principal, 'readShared');
  const column = order === null ? null : variableColumns[order.by];
  const direction = order?.descending === true ? sql`desc nulls last` : sql`asc nulls last`;
  return db
    .select({
      id: hotShot.shotId,
      lab: lab.slug,
      label: hotShot.label,
      ordinal: hotShot.ordinal,
      shared: hotShot.shared,
      ...gearReferences,
      rig: sql<string>`${rig.name} || '@' || ${rig.version}`,
      player: hotShot.player,
      sessionDate: hotShot.sessionDate,
      orderedBy: column === null ? sql<null>`null::float8` : sql<number | null>`${column}`,
    })
    .from(hotShot)
    .innerJoin(lab, eq(lab.id, hotShot.labId))
    .innerJoin(rig, eq(rig.id, hotShot.rigId))
    .leftJoin(cue, eq(cue.id, hotShot.cueId))
    .leftJoin(tableSetup, eq(tableSetup.id, hotShot.tableId))
    .where(and(conditions(principal, search), page.after === null ? undefined : afterPlace(order, page.after)))
    .orderBy(...(column === null ? [] : [sql`${column} ${direction}`]), sql`${lab.slug} collate "C"`, hotShot.ordinal)
    .limit(page.limit);
}

/** Number of shots that a search finds. */
export async function countFoundShots(db: Database, principal: Principal, search: ShotSearch): Promise<number> {
  permit(principal, 'readShared');
  const [row] = await db
    .select({ shots: sql<number>`count(*)::int` })
    .from(hotShot)
    .innerJoin(lab, eq(lab.id, hotShot.labId))
    .where(conditions(principal, search));
  return row?.shots ?? 0;
}

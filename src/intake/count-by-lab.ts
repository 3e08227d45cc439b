/** What labs have recorded, in numbers: players by code and days, of shots that the caller may see. */
import { and, eq, inArray, sql } from 'drizzle-orm';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { sightOf, visibleWhere } from '../access/visibility.ts';
import type { Database } from '../store/database.ts';
import { hotShot, lab } from '../store/schema.ts';

export interface CountedBy<Key> {
  /** Slug. */
  readonly lab: string;
  readonly key: Key;
  readonly shots: number;
}

/** Shots of each of the labs by player, by code; shots without a player are left out. */
export async function countPlayers(db: Database, principal: Principal, labs: readonly string[]) {
  permit(principal, 'readShared');
  const rows = await db
    .select({ lab: lab.slug, key: hotShot.player, shots: sql<number>`count(*)::int` })
    .from(hotShot)
    .innerJoin(lab, eq(lab.id, hotShot.labId))
    .where(and(visibleWhere(sightOf(principal), hotShot), inArray(lab.slug, [...labs])))
    .groupBy(lab.slug, hotShot.player)
    .orderBy(sql`${lab.slug} collate "C"`, sql`${hotShot.player} collate "C"`);
  return rows.flatMap(({ key, ...row }): CountedBy<string>[] => (key === null ? [] : [{ ...row, key }]));
}

/** Shots of each of the labs by session date, oldest first; shots without a date last. */
export async function countRecordingDays(
  db: Database,
  principal: Principal,
  labs: readonly string[],
): Promise<CountedBy<string | null>[]> {
  permit(principal, 'readShared');
  return db
    .select({ lab: lab.slug, key: hotShot.sessionDate, shots: sql<number>`count(*)::int` })
    .from(hotShot)
    .innerJoin(lab, eq(lab.id, hotShot.labId))
    .where(and(visibleWhere(sightOf(principal), hotShot), inArray(lab.slug, [...labs])))
    .groupBy(lab.slug, hotShot.sessionDate)
    .orderBy(sql`${lab.slug} collate "C"`, sql`${hotShot.sessionDate} asc nulls last`);
}

/** Number of shots of each of the labs. */
export async function countShots(
  db: Database,
  principal: Principal,
  labs: readonly string[],
): Promise<{ lab: string; shots: number }[]> {
  permit(principal, 'readShared');
  return db
    .select({ lab: lab.slug, shots: sql<number>`count(*)::int` })
    .from(hotShot)
    .innerJoin(lab, eq(lab.id, hotShot.labId))
    .where(and(visibleWhere(sightOf(principal), hotShot), inArray(lab.slug, [...labs])))
    .groupBy(lab.slug);
}

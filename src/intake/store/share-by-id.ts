/** Sharing, wherever it is stored. */
import { sql } from 'drizzle-orm';
import type { Transaction } from '../../store/database.ts';

/** Shares shots that are not shared yet, in the shot and in the hot table. @returns how many became shared */
export async function shareById(tx: Transaction, ids: readonly string[], at: Date): Promise<number> {
  if (ids.length === 0) return 0;
  const wanted = sql`(select given.id::uuid from unnest(${sql.param([...ids])}::text[]) as given(id))`;
  const { rows } = await tx.execute<{ one: number }>(sql`
    update shot set shared = true, shared_at = ${at.toISOString()}::timestamptz,
      shared_from = (select revision.number from shot_revision as revision where revision.id = shot.current_revision_id)
    where id in ${wanted} and not shared returning 1 as one`);
  await tx.execute(sql`update hot_shot set shared = true where shot_id in ${wanted} and not shared`);
  return rows.length;
}

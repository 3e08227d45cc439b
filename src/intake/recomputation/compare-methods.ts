/** What changing from one method version to another does to the numbers of the current shots. */
import { sql } from 'drizzle-orm';
import { budgetedResults } from '../../../shared/derivation.ts';
import { quantities } from '../../../shared/quantities.ts';
import type { MethodChanges } from '../../../shared/recomputation.ts';
import type { Database, Transaction } from '../../store/database.ts';

/** Both derivations of every current shot that is not withdrawn. */
function pairs(from: string, to: string) {
  return sql`shot
    join derivation as before on before.revision_id = shot.current_revision_id and before.method_version = ${from}
    join derivation as after on after.revision_id = shot.current_revision_id and after.method_version = ${to}
    where shot.withdrawn_at is null`;
}

interface QuantityRow extends Record<string, unknown> {
  readonly compared: number;
  readonly changed: number;
  readonly appeared: number;
  readonly vanished: number;
  readonly largest: number | null;
  readonly largest_in_uncertainties: number | null;
}

/** Shots that lack one of the two derivations are not compared. */
export async function compareMethods(db: Database | Transaction, from: string, to: string): Promise<MethodChanges> {
  const whole = await db.execute<{ shots: number; changed: number; flags_changed: number }>(sql`
    select count(*)::int as shots,
      (count(*) filter (where before.derived::jsonb - 'methodVersion' <> after.derived::jsonb - 'methodVersion'))::int as changed,
      (count(*) filter (where (before.derived -> 'flags')::jsonb <> (after.derived -> 'flags')::jsonb))::int as flags_changed
    from ${pairs(from, to)}`);
  const { shots = 0, changed = 0, flags_changed: flagsChanged = 0 } = whole.rows[0] ?? {};
  const changes: MethodChanges['quantities'] = [];
  for (const quantity of budgetedResults) {
    const number = (row: 'before' | 'after', field: 'value' | 'standardUncertainty') =>
      sql`(${sql.raw(row)}.derived -> ${quantity}::text ->> ${field}::text)::float8`;
    const { rows } = await db.execute<QuantityRow>(sql`
      select (count(*) filter (where old is not null and new is not null))::int as compared,
        (count(*) filter (where old is not null and new is not null and (old <> new or u_old <> u_new)))::int as changed,
        (count(*) filter (where old is null and new is not null))::int as appeared,
        (count(*) filter (where old is not null and new is null))::int as vanished,
        max(abs(new - old)) as largest,
        max(abs(new - old) / nullif(u_old, 0)) as largest_in_uncertainties
      from (select ${number('before', 'value')} as old, ${number('after', 'value')} as new,
          ${number('before', 'standardUncertainty')} as u_old, ${number('after', 'standardUncertainty')} as u_new
        from ${pairs(from, to)}) as compared`);
    const row = rows[0];
    changes.push({
      quantity,
      siUnit: quantities[quantity].siUnit,
      compared: row?.compared ?? 0,
      changed: row?.changed ?? 0,
      appeared: row?.appeared ?? 0,
      vanished: row?.vanished ?? 0,
      largestChange: row?.largest ?? 0,
      largestChangeInUncertainties: row?.largest_in_uncertainties ?? null,
    });
  }
  return { shots, changed, flagsChanged, quantities: changes };
}

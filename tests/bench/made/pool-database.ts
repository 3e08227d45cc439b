/** A database whose hot table holds invented shots of twelve labs, written by the database itself. */
import { type SQL, sql } from 'drizzle-orm';
import type { Database } from '../../../src/store/database.ts';
import type { BenchDatabase, BenchServer } from '../bench-database.ts';

export const poolLabs = 12;

export async function poolDatabase(
  server: BenchServer,
  shots: number,
  note: (text: string) => void,
): Promise<BenchDatabase> {
  note(`filling a table with ${shots} shots of ${poolLabs} labs`);
  const made = await server.createDatabase();
  const database = await made.open();
  try {
    await fill(database.db, Math.ceil(shots / poolLabs));
  } finally {
    await database.close();
  }
  return made;
}

async function fill(db: Database, shotsPerLab: number): Promise<void> {
  const run = (statement: SQL) => db.execute(statement);
  await run(sql`
    insert into lab (slug, title, data_licence, consent_reference, version, shared_version, next_ordinal)
    select 'lab-' || lpad(place::text, 2, '0'), 'Invented lab', 'CC0-1.0', 'invented', 1, 1, ${shotsPerLab}::int + 1
    from generate_series(1, ${poolLabs}::int) as place`);
  for (const table of ['rig', 'cue', 'table_setup']) {
    await run(sql`insert into ${sql.raw(table)} (lab_id, name, version, content) select id, 'main', 1, '{}' from lab`);
  }
  await run(sql`
    insert into shot (lab_id, label, ordinal, shared, shared_at)
    select lab.id, 'shot ' || ordinal, ordinal, true, now()
    from lab, generate_series(1, ${shotsPerLab}::int) as ordinal
    order by lab.id, ordinal`);
  // One connection for both statements, so that the seed holds.
  await db.transaction(async (tx) => {
    await tx.execute(sql`select setseed(0.25)`);
    await tx.execute(hotRows);
  });
  await run(sql`vacuum analyze hot_shot`);
}

/** Contact time falls by 0.1 ms for each m/s; labs differ in level; one shot in fifty has no contact time. */
const hotRows = sql`
  insert into hot_shot (
    lab_id, ordinal, shot_id, revision_id, label, shared, received_at, source, flags, rig_id, cue_id, table_id,
    straight, player, stroke_style, session_date,
    cue_speed, cue_acceleration, contact_time, counted_contact_time, tip_offset, tip_height, object_ball_distance,
    outcome_distance, cue_mass, elevation,
    u_cue_speed, u_cue_acceleration, covariance_speed_acceleration, u_contact_time, u_tip_offset, u_outcome_distance)
  select
    lab_id, ordinal, id, ordinal, label, true, timestamptz '2026-01-01 00:00+00', 1, 0, rig_id, cue_id, table_id,
    true, 'P' || ordinal % 20, 'long', date '2026-01-01',
    speed, acceleration, case when ordinal % 50 > 0 then contact end, contact, tip, 0.02857 * (1 + tip), 0.5 + chance,
    0.8 * tip, 0.54, 0.03,
    0.02, 1.0, 0.0194, 2e-5, 0.005, 0.005
  from (
    select
      drawn.*,
      1.4e-3 - 1e-4 * speed + 5e-6 * lab_id + 4e-5 * (chance - 0.5) as contact
    from (
      select
        shot.id, shot.lab_id, shot.ordinal, shot.label,
        rig.id as rig_id, cue.id as cue_id, table_setup.id as table_id,
        1 + 5 * random() as speed, 40 * (random() - 0.5) as acceleration, 0.8 * (random() - 0.5) as tip,
        random() as chance
      from shot
      join rig on rig.lab_id = shot.lab_id
      join cue on cue.lab_id = shot.lab_id
      join table_setup on table_setup.lab_id = shot.lab_id
      order by shot.lab_id, shot.ordinal
    ) as drawn
  ) as shots
  order by lab_id, ordinal`;

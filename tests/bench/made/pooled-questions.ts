/** The questions of the bench, and the floors that the database sets for them. */
import { sql } from 'drizzle-orm';
import { flagMask, flagNames, flags } from '../../../shared/flags.ts';
import { type RegressionSpecification, regressionSpecificationSchema } from '../../../shared/regression.ts';
import type { Principal } from '../../../src/access/principal.ts';
import { copiedColumns } from '../../../src/pooling/column-store/read-chunks.ts';
import type { Database, OpenDatabase } from '../../../src/store/database.ts';

export const reader: Principal = { role: 'reader', lab: null, tokenId: null };
export const terms = ['cueSpeed', 'cueAcceleration', 'tipOffset'] as const;

/** A filter that no round has asked before and that leaves almost every shot in. */
export const leastSpeed = (round: number) => 1.1 + round * 1e-6;

export function question(round: number, more: object = {}): RegressionSpecification {
  return regressionSpecificationSchema.parse({
    response: 'contactTime',
    terms: terms.map((variable) => [{ variable }]),
    filter: { ranges: [{ variable: 'cueSpeed', min: leastSpeed(round) }] },
    ...more,
  });
}

/** Counts, means and centred sums of squares and products of the same shots, by lab. Returns the shots counted. */
export async function aggregate(db: Database, least: number): Promise<number> {
  const leftOut = flagMask(flagNames.filter((name) => flags[name].leftOut));
  const { rows } = await db.execute<{ shots: number }>(sql`
    select
      lab_id, count(*)::int as shots,
      avg(contact_time), avg(cue_speed), avg(cue_acceleration), avg(tip_offset),
      regr_sxx(contact_time, contact_time), regr_sxx(cue_speed, cue_speed),
      regr_sxx(cue_acceleration, cue_acceleration), regr_sxx(tip_offset, tip_offset),
      regr_sxy(contact_time, cue_speed), regr_sxy(contact_time, cue_acceleration), regr_sxy(contact_time, tip_offset),
      regr_sxy(cue_speed, cue_acceleration), regr_sxy(cue_speed, tip_offset), regr_sxy(cue_acceleration, tip_offset)
    from hot_shot
    where shared and source = 1 and flags & ${leftOut}::int = 0 and cue_speed >= ${least}::float8
      and contact_time is not null and cue_acceleration is not null and tip_offset is not null
    group by lab_id`);
  return rows.reduce((sum, { shots }) => sum + shots, 0);
}

/** The same columns by the same COPY, received and dropped. Returns the bytes. */
export async function bareCopy(database: OpenDatabase): Promise<number> {
  let bytes = 0;
  await database.snapshot((snapshot) =>
    snapshot.copy(`select ${copiedColumns.join(', ')} from hot_shot`, (chunk) => {
      bytes += chunk.byteLength;
    }),
  );
  return bytes;
}

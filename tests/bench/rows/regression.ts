/** A pooled regression with a filter never asked before, against the bare aggregate SQL. */
import { sql } from 'drizzle-orm';
import { flagMask, flagNames, flags } from '../../../shared/flags.ts';
import { type RegressionSpecification, regressionSpecificationSchema } from '../../../shared/regression.ts';
import type { Principal } from '../../../src/access/principal.ts';
import { askRegression } from '../../../src/pooling/ask-regression.ts';
import { loadLiveColumns } from '../../../src/pooling/load-columns.ts';
import { runRegression } from '../../../src/pooling/run-regression.ts';
import type { Database } from '../../../src/store/database.ts';
import type { MeasureRow } from '../bench.ts';
import { poolLabs } from '../made/pool-database.ts';
import { medianTimes } from '../measure.ts';
import { milliseconds, type Row } from '../report.ts';

const budgetRatio = 0.2;
const reader: Principal = { role: 'reader', lab: null, tokenId: null };
const terms = ['cueSpeed', 'cueAcceleration', 'tipOffset'] as const;

/** A filter that no round has asked before and that leaves almost every shot in. */
const leastSpeed = (round: number) => 1.1 + round * 1e-6;

function question(round: number): RegressionSpecification {
  return regressionSpecificationSchema.parse({
    response: 'contactTime',
    terms: terms.map((variable) => [{ variable }]),
    filter: { ranges: [{ variable: 'cueSpeed', min: leastSpeed(round) }] },
  });
}

export const measureRegression: MeasureRow = async ({ pool, note }): Promise<Row> => {
  const database = await (await pool()).open();
  const { db } = database;
  try {
    const columns = await loadLiveColumns(db, 'shared');
    const base = { specificationDigest: '', dataVersion: '', methodVersion: '1' };
    let counted = 0;
    let answered = 0;
    note(`asking a regression over ${columns.count} shots`);
    const times = await medianTimes(
      {
        ask: async (round) => {
          answered = (await askRegression(db, reader, question(round))).result.provenance.shots;
        },
        aggregate: async (round) => {
          counted = await aggregate(db, leastSpeed(round));
        },
        load: () => loadLiveColumns(db, 'shared'),
        kernel: (round) => runRegression(columns, question(round), base),
      },
      { warmUp: 1, rounds: 9, seconds: 12, least: 2 },
    );
    if (answered !== counted) throw new Error(`the answer rests on ${answered} shots, the aggregate on ${counted}`);
    const ratio = times.ask / times.aggregate;
    return {
      work: `pooled regression, ${terms.length} terms, ${poolLabs} labs, ${columns.count} shots, new filter`,
      floor: 'bare aggregate SQL: moments by lab',
      figure: milliseconds(times.ask),
      floorFigure: milliseconds(times.aggregate),
      ratio,
      budget: `<= ${budgetRatio} x`,
      within: ratio <= budgetRatio,
      why: reason(times.kernel / times.aggregate),
      parts: [
        `part: loading the columns ${milliseconds(times.load)}`,
        `part: answer from columns in memory ${milliseconds(times.kernel)} (${(times.kernel / times.aggregate).toFixed(2)} x the floor)`,
      ],
    };
  } finally {
    await database.close();
  }
};

function reason(kernelRatio: number): string {
  const loading = 'the columns are read from the database for every question; they are not yet kept in memory';
  return kernelRatio > budgetRatio ? `${loading}, and the passes over them alone take longer.` : `${loading}.`;
}

/** Counts, means and centred sums of squares and products of the same shots, by lab. Returns the shots counted. */
async function aggregate(db: Database, least: number): Promise<number> {
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

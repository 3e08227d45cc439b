/** The current shots of a scope as columns, from the hot table. */
import { and, asc, eq, gt, or } from 'drizzle-orm';
import { gearReferences } from '../access/gear-tables.ts';
import { type Scope, sightOfScope, visibleWhere } from '../access/visibility.ts';
import type { Database, Transaction } from '../store/database.ts';
import { cue, hotShot, lab, rig, tableSetup } from '../store/schema.ts';
import { ColumnsBuilder } from './assemble-columns.ts';
import type { ShotColumns, ShotRow } from './columns.ts';
import { hotSource } from './hot-source.ts';

/** Rows fetched at a time, so that a million shots are never a million objects at once. */
const batchSize = 20_000;

/**
 * Columns of every shot that the scope sees. Needs several queries: run it in a repeatable-read transaction where
 * others may be writing.
 */
export async function loadLiveColumns(db: Database | Transaction, scope: Scope): Promise<ShotColumns> {
  const builder = new ColumnsBuilder();
  let last: { labId: number; ordinal: number } | null = null;
  for (;;) {
    const rows: HotRow[] = await batchAfter(db, scope, last);
    for (const row of rows) builder.push(rowOfHot(row));
    const end = rows.at(-1);
    if (end === undefined || rows.length < batchSize) return builder.finish();
    last = { labId: end.hot.labId, ordinal: end.hot.ordinal };
  }
}

interface HotRow {
  readonly hot: typeof hotShot.$inferSelect;
  readonly lab: string;
  readonly rig: string | null;
  readonly cue: string | null;
  readonly table: string | null;
}

function batchAfter(
  db: Database | Transaction,
  scope: Scope,
  last: { readonly labId: number; readonly ordinal: number } | null,
): Promise<HotRow[]> {
  const after =
    last === null
      ? undefined
      : or(gt(hotShot.labId, last.labId), and(eq(hotShot.labId, last.labId), gt(hotShot.ordinal, last.ordinal)));
  return db
    .select({
      hot: hotShot,
      lab: lab.slug,
      ...gearReferences,
    })
    .from(hotShot)
    .innerJoin(lab, eq(lab.id, hotShot.labId))
    .innerJoin(rig, eq(rig.id, hotShot.rigId))
    .leftJoin(cue, eq(cue.id, hotShot.cueId))
    .leftJoin(tableSetup, eq(tableSetup.id, hotShot.tableId))
    .where(and(visibleWhere(sightOfScope(scope), hotShot), after))
    .orderBy(asc(hotShot.labId), asc(hotShot.ordinal))
    .limit(batchSize);
}

function rowOfHot({ hot, ...names }: HotRow): ShotRow {
  const { ordinal, label, straight, player, strokeStyle, grip, sessionDate, flags } = hot;
  return {
    ...names,
    rig: names.rig ?? '',
    ordinal,
    label,
    straight,
    player,
    strokeStyle,
    grip,
    sessionDate,
    flags,
    fromTrack: hot.source === hotSource.track,
    receivedAt: hot.receivedAt.getTime(),
    // The row of the hot table has a column of every variable's name.
    variables: hot,
    uncertainties: {
      cueSpeed: hot.uCueSpeed,
      cueAcceleration: hot.uCueAcceleration,
      contactTime: hot.uContactTime,
      tipOffset: hot.uTipOffset,
      outcomeDistance: hot.uOutcomeDistance,
      outcomeResidual: hot.uOutcomeResidual,
    },
    commonUncertainties: {
      cueSpeedRig: hot.uCueSpeedRig,
      cueAccelerationRig: hot.uCueAccelerationRig,
      contactTimeRig: hot.uContactTimeRig,
      tipOffsetRig: hot.uTipOffsetRig,
      tipOffsetCue: hot.uTipOffsetCue,
      tipOffsetTable: hot.uTipOffsetTable,
      outcomeDistanceRig: hot.uOutcomeDistanceRig,
      outcomeDistanceTable: hot.uOutcomeDistanceTable,
      outcomeResidualRig: hot.uOutcomeResidualRig,
      outcomeResidualCue: hot.uOutcomeResidualCue,
      outcomeResidualTable: hot.uOutcomeResidualTable,
    },
    covarianceSpeedAcceleration: hot.covarianceSpeedAcceleration,
  };
}

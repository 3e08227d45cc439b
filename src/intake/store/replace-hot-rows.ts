/** The hot table: the current derivation of each current shot in narrow columns, a copy that can be rebuilt. */
import { sql } from 'drizzle-orm';
import { applyVocabulary } from '../../access/vocabularies.ts';
import type { ShotRow } from '../../pooling/columns.ts';
import { hotSource } from '../../pooling/load-columns.ts';
import { rowOfDerived } from '../../pooling/row-of-derived.ts';
import type { Transaction } from '../../store/database.ts';
import type { Arrival } from './accepted-shot.ts';
import type { StoredRevision } from './insert-revisions.ts';
import { type RowColumn, unnest } from './unnest.ts';

/** One shot of the hot table: the rows it points to and its columns. */
export interface HotRow {
  readonly shotId: string;
  readonly revisionId: number;
  readonly shared: boolean;
  readonly rigId: number;
  readonly cueId: number | null;
  readonly tableId: number | null;
  readonly row: ShotRow;
}

const variable = (name: string, of: (row: ShotRow) => number | null): RowColumn<HotRow> => ({
  name,
  type: 'float8',
  of: ({ row }) => of(row),
});

const columns: readonly RowColumn<HotRow>[] = [
  { name: 'ordinal', type: 'int', of: ({ row }) => row.ordinal },
  { name: 'revision_id', type: 'bigint', of: ({ revisionId }) => revisionId },
  { name: 'label', type: 'text', of: ({ row }) => row.label },
  { name: 'shared', type: 'boolean', of: ({ shared }) => shared },
  { name: 'source', type: 'smallint', of: ({ row }) => (row.fromTrack ? hotSource.track : hotSource.reported) },
  { name: 'flags', type: 'int', of: ({ row }) => row.flags },
  { name: 'rig_id', type: 'int', of: ({ rigId }) => rigId },
  { name: 'cue_id', type: 'int', of: ({ cueId }) => cueId },
  { name: 'table_id', type: 'int', of: ({ tableId }) => tableId },
  { name: 'straight', type: 'boolean', of: ({ row }) => row.straight },
  { name: 'player', type: 'text', of: ({ row }) => row.player },
  { name: 'stroke_style', type: 'text', of: ({ row }) => row.strokeStyle },
  { name: 'grip', type: 'text', of: ({ row }) => row.grip },
  variable('cue_speed', ({ variables }) => variables.cueSpeed),
  variable('cue_acceleration', ({ variables }) => variables.cueAcceleration),
  variable('contact_time', ({ variables }) => variables.contactTime),
  variable('counted_contact_time', ({ variables }) => variables.countedContactTime),
  variable('tip_offset', ({ variables }) => variables.tipOffset),
  variable('tip_height', ({ variables }) => variables.tipHeight),
  variable('object_ball_distance', ({ variables }) => variables.objectBallDistance),
  variable('outcome_distance', ({ variables }) => variables.outcomeDistance),
  variable('ball_speed', ({ variables }) => variables.ballSpeed),
  variable('cue_mass', ({ variables }) => variables.cueMass),
  variable('elevation', ({ variables }) => variables.elevation),
  variable('u_cue_speed', ({ uncertainties }) => uncertainties.cueSpeed),
  variable('u_cue_acceleration', ({ uncertainties }) => uncertainties.cueAcceleration),
  variable('covariance_speed_acceleration', (row) => row.covarianceSpeedAcceleration),
  variable('u_contact_time', ({ uncertainties }) => uncertainties.contactTime),
  variable('u_tip_offset', ({ uncertainties }) => uncertainties.tipOffset),
  variable('u_outcome_distance', ({ uncertainties }) => uncertainties.outcomeDistance),
  variable('u_cue_speed_rig', (row) => row.commonUncertainties?.cueSpeedRig ?? null),
  variable('u_cue_acceleration_rig', (row) => row.commonUncertainties?.cueAccelerationRig ?? null),
  variable('u_contact_time_rig', (row) => row.commonUncertainties?.contactTimeRig ?? null),
  variable('u_tip_offset_rig', (row) => row.commonUncertainties?.tipOffsetRig ?? null),
  variable('u_tip_offset_cue', (row) => row.commonUncertainties?.tipOffsetCue ?? null),
  variable('u_tip_offset_table', (row) => row.commonUncertainties?.tipOffsetTable ?? null),
  variable('outcome_residual', ({ variables }) => variables.outcomeResidual),
  variable('u_outcome_residual', ({ uncertainties }) => uncertainties.outcomeResidual),
  variable('u_outcome_residual_rig', (row) => row.commonUncertainties?.outcomeResidualRig ?? null),
  variable('u_outcome_residual_cue', (row) => row.commonUncertainties?.outcomeResidualCue ?? null),
  variable('u_outcome_residual_table', (row) => row.commonUncertainties?.outcomeResidualTable ?? null),
  variable('u_outcome_distance_rig', (row) => row.commonUncertainties?.outcomeDistanceRig ?? null),
  variable('u_outcome_distance_table', (row) => row.commonUncertainties?.outcomeDistanceTable ?? null),
];

/** Columns whose parameters are text and that are cast on insertion. */
const cast: readonly (RowColumn<HotRow> & { readonly to: string })[] = [
  { name: 'shot_id', type: 'text', to: 'uuid', of: ({ shotId }) => shotId },
  { name: 'session_date', type: 'text', to: 'date', of: ({ row }) => row.sessionDate },
];

/**
 * Puts the current revision of each shot into the hot table, in place of an earlier one. The time of receipt is the
 * first one of the revision: a margin declared after it was not declared beforehand, whatever was amended since.
 */
export async function replaceHotRows(
  tx: Transaction,
  arrival: Arrival,
  revisions: readonly StoredRevision[],
): Promise<void> {
  const { labId, labSlug, receivedAt } = arrival;
  const rows = revisions.map(({ id, shot }): HotRow => {
    const { rigId, cueId, tableId, content } = shot.ready;
    const place = { lab: labSlug, ordinal: shot.ordinal, receivedAt: receivedAt.getTime() };
    const row = rowOfDerived(content, shot.derived, place);
    return { shotId: shot.id, revisionId: id, shared: shot.shared, rigId, cueId, tableId, row };
  });
  const revised = revisions.filter(({ shot }) => !shot.isNew).map(({ shot }) => shot.ordinal);
  if (revised.length > 0) {
    await tx.execute(sql`
      delete from hot_shot where lab_id = ${labId} and ordinal = any(${sql.param(revised)}::int[])`);
  }
  await insertHotRows(tx, labId, rows);
}

/** Adds shots of one lab that the hot table does not hold. */
export async function insertHotRows(tx: Transaction, labId: number, rows: readonly HotRow[]): Promise<void> {
  const names = columns.map(({ name }) => sql.raw(name));
  const castNames = cast.map(({ name }) => sql.raw(name));
  const castValues = cast.map(({ name, to }) => sql.raw(`given.${name}::${to}`));
  await tx.execute(sql`
    insert into hot_shot (lab_id, received_at, ${sql.join([...castNames, ...names], sql`, `)})
    select ${labId}::int, revision.first_received_at,
      ${sql.join([...castValues, ...names.map((name) => sql`given.${name}`)], sql`, `)}
    from ${unnest(rows, [...cast, ...columns])} join shot_revision as revision on revision.id = given.revision_id`);
  await applyVocabulary(
    tx,
    labId,
    rows.map(({ row }) => row.ordinal),
  );
}

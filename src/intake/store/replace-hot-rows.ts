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

interface HotRow extends StoredRevision {
  readonly row: ShotRow;
}

const variable = (name: string, of: (row: ShotRow) => number | null): RowColumn<HotRow> => ({
  name,
  type: 'float8',
  of: ({ row }) => of(row),
});

const columns: readonly RowColumn<HotRow>[] = [
  { name: 'ordinal', type: 'int', of: ({ shot }) => shot.ordinal },
  { name: 'revision_id', type: 'bigint', of: ({ id }) => id },
  { name: 'label', type: 'text', of: ({ shot }) => shot.label },
  { name: 'shared', type: 'boolean', of: ({ shot }) => shot.shared },
  { name: 'source', type: 'smallint', of: ({ row }) => (row.fromTrack ? hotSource.track : hotSource.reported) },
  { name: 'flags', type: 'int', of: ({ row }) => row.flags },
  { name: 'rig_id', type: 'int', of: ({ shot }) => shot.ready.rigId },
  { name: 'cue_id', type: 'int', of: ({ shot }) => shot.ready.cueId },
  { name: 'table_id', type: 'int', of: ({ shot }) => shot.ready.tableId },
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
];

/** Columns whose parameters are text and that are cast on insertion. */
const cast: readonly (RowColumn<HotRow> & { readonly to: string })[] = [
  { name: 'shot_id', type: 'text', to: 'uuid', of: ({ shot }) => shot.id },
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
  const rows = revisions.map(({ id, shot }) => {
    const place = { lab: labSlug, ordinal: shot.ordinal, receivedAt: receivedAt.getTime() };
    return { id, shot, row: rowOfDerived(shot.ready.content, shot.derived, place) };
  });
  const revised = revisions.filter(({ shot }) => !shot.isNew).map(({ shot }) => shot.ordinal);
  if (revised.length > 0) {
    await tx.execute(sql`
      delete from hot_shot where lab_id = ${labId} and ordinal = any(${sql.param(revised)}::int[])`);
  }
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
    revisions.map(({ shot }) => shot.ordinal),
  );
}

/** The part of a row of the hot table that follows from what was sent and derived, written before its transaction. */
import type { DerivedShot } from '../../shared/derivation.ts';
import type { ShotRow } from '../pooling/columns.ts';
import { hotSource } from '../pooling/hot-source.ts';
import { type RowContent, rowOfDerived } from '../pooling/row-of-derived.ts';
import { BinaryRows } from '../store/binary-rows.ts';

type HotColumn = readonly [name: string, write: (to: BinaryRows, row: ShotRow) => void];

const variable = (name: string, of: (row: ShotRow) => number | null): HotColumn => [
  name,
  (to, row) => to.float8(of(row)),
];

const columns: readonly HotColumn[] = [
  ['label', (to, { label }) => to.text(label)],
  ['source', (to, { fromTrack }) => to.int2(fromTrack ? hotSource.track : hotSource.reported)],
  ['flags', (to, { flags }) => to.int4(flags)],
  ['straight', (to, { straight }) => to.boolean(straight)],
  ['player', (to, { player }) => to.text(player)],
  ['stroke_style', (to, { strokeStyle }) => to.text(strokeStyle)],
  ['grip', (to, { grip }) => to.text(grip)],
  ['session_date', (to, { sessionDate }) => to.date(sessionDate)],
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
  variable('u_outcome_distance_rig', (row) => row.commonUncertainties?.outcomeDistanceRig ?? null),
  variable('u_outcome_distance_table', (row) => row.commonUncertainties?.outcomeDistanceTable ?? null),
  variable('outcome_residual', ({ variables }) => variables.outcomeResidual),
  variable('outcome_class', ({ variables }) => variables.outcomeClass),
  variable('early_outcome_distance', ({ variables }) => variables.earlyOutcomeDistance),
  variable('u_outcome_residual', ({ uncertainties }) => uncertainties.outcomeResidual),
  variable('u_outcome_residual_rig', (row) => row.commonUncertainties?.outcomeResidualRig ?? null),
  variable('u_outcome_residual_cue', (row) => row.commonUncertainties?.outcomeResidualCue ?? null),
  variable('u_outcome_residual_table', (row) => row.commonUncertainties?.outcomeResidualTable ?? null),
];

/** Names of these columns, in the order of the fields. */
export const hotFieldNames: readonly string[] = columns.map(([name]) => name);

const writer = new BinaryRows();
/** Neither its lab nor its place and time are among the fields. */
const nowhere = { lab: '', ordinal: 0, receivedAt: Number.NaN };

/** The fields in binary form; gear of the content is written name@version. */
export function hotFields(content: RowContent, derived: DerivedShot): Buffer {
  const row = rowOfDerived(content, derived, nowhere);
  writer.clear();
  for (const [, write] of columns) write(writer, row);
  return Buffer.from(writer.bytes);
}

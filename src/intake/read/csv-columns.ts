/** The columns of a CSV of shots: for each the place in the shot that it fills and what its cells hold. */
import type { QuantityName } from '../../../shared/quantities.ts';

export type CellKind = 'text' | 'integer' | 'number' | 'boolean' | 'words' | 'measure';

export interface ColumnDefinition {
  /** Keys from the shot down to the value; a measure fills `value` and `unit` there. */
  readonly path: readonly string[];
  readonly kind: CellKind;
  /** Only of measures: the unit stands in the header. */
  readonly quantity?: QuantityName;
}

const text = (...path: string[]): ColumnDefinition => ({ path, kind: 'text' });
const integer = (...path: string[]): ColumnDefinition => ({ path, kind: 'integer' });
const boolean = (...path: string[]): ColumnDefinition => ({ path, kind: 'boolean' });
const measure = (quantity: QuantityName, ...path: string[]): ColumnDefinition => ({ path, kind: 'measure', quantity });

/** Names as they stand in the header, without unit. tip_height is the short form of tip_height_height. */
export const csvColumns: Readonly<Record<string, ColumnDefinition>> = {
  label: text('label'),
  rig: text('rig'),
  cue: text('cue'),
  table: text('table'),
  player: text('player'),
  observer: text('observer'),
  session_date: text('sessionDate'),
  stroke_style: text('strokeStyle'),
  grip: text('grip'),
  straight: boolean('straight'),
  object_ball_distance: measure('objectBallDistance', 'objectBallDistance'),
  elevation: measure('elevation', 'elevation'),
  contact_closed_frame: integer('contact', 'closedFrame'),
  contact_open_frame: integer('contact', 'openFrame'),
  contact_counted_frames: integer('contact', 'countedFrames'),
  trimmed_start: integer('contact', 'trimmedStart'),
  trimmed_end: integer('contact', 'trimmedEnd'),
  tip_height_method: text('tipHeight', 'method'),
  tip_height: measure('heightReading', 'tipHeight', 'height'),
  tip_height_height: measure('heightReading', 'tipHeight', 'height'),
  tip_height_top_edge: measure('heightReading', 'tipHeight', 'topEdge'),
  tip_height_bottom_edge: measure('heightReading', 'tipHeight', 'bottomEdge'),
  tip_height_station: measure('heightReading', 'tipHeight', 'station'),
  tip_height_standard_uncertainty: measure('heightReading', 'tipHeight', 'standardUncertainty'),
  tip_height_ring: { path: ['tipHeight', 'ring'], kind: 'number' },
  tip_height_ring_step: measure('heightReading', 'tipHeight', 'ringStep'),
  tip_height_side: text('tipHeight', 'side'),
  ball_speed: measure('ballSpeed', 'ballSpeed'),
  outcome_distance: measure('outcomeDistance', 'outcome', 'distance'),
  outcome_ended: text('outcome', 'ended'),
  outcome_standard_uncertainty: measure('outcomeDistance', 'outcome', 'standardUncertainty'),
  reported_cue_speed: measure('cueSpeed', 'reported', 'cueSpeed'),
  reported_cue_acceleration: measure('cueAcceleration', 'reported', 'cueAcceleration'),
  reported_contact_time: measure('contactTime', 'reported', 'contactTime'),
  reported_tip_offset: measure('tipOffset', 'reported', 'tipOffset'),
  lab_flags: { path: ['labFlags'], kind: 'words' },
  shared: boolean('shared'),
  note: text('note'),
};

/** The column of a name as it stands in a header; undefined when there is none, also for names that every object has. */
export function csvColumnOf(name: string): ColumnDefinition | undefined {
  return Object.hasOwn(csvColumns, name) ? csvColumns[name] : undefined;
}

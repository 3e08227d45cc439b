/**
 * Shots as typed columns: what every analysis reads, whether it comes from the hot table, from a release in the
 * database, or from the files of a bundle. Rows are ordered by lab slug (code units), then ordinal, so that the same
 * shots give the same bits everywhere. A missing value is NaN in a float column and -1 in a group column.
 */
import type { GroupingName, VariableName } from '../../shared/quantities.ts';

/** Measured quantities that carry a standard uncertainty per shot. */
export const uncertainNames = [
  'cueSpeed',
  'cueAcceleration',
  'contactTime',
  'tipOffset',
  'outcomeDistance',
  'outcomeResidual',
] as const;
export type UncertainName = (typeof uncertainNames)[number];

/**
 * The part of a standard uncertainty that is one and the same error for all shots of a rig, a cue or a table: it does
 * not average away over them. Named after the columns of the hot table.
 */
export const commonParts = {
  cueSpeedRig: { of: 'cueSpeed', to: 'rig' },
  cueAccelerationRig: { of: 'cueAcceleration', to: 'rig' },
  contactTimeRig: { of: 'contactTime', to: 'rig' },
  tipOffsetRig: { of: 'tipOffset', to: 'rig' },
  tipOffsetCue: { of: 'tipOffset', to: 'cue' },
  tipOffsetTable: { of: 'tipOffset', to: 'table' },
  outcomeDistanceRig: { of: 'outcomeDistance', to: 'rig' },
  outcomeDistanceTable: { of: 'outcomeDistance', to: 'table' },
  outcomeResidualRig: { of: 'outcomeResidual', to: 'rig' },
  outcomeResidualCue: { of: 'outcomeResidual', to: 'cue' },
  outcomeResidualTable: { of: 'outcomeResidual', to: 'table' },
} as const satisfies Record<string, { readonly of: UncertainName; readonly to: 'rig' | 'cue' | 'table' }>;
export type CommonPartName = keyof typeof commonParts;
export const commonPartNames = Object.keys(commonParts) as readonly CommonPartName[];

export interface GroupColumn {
  /** Index into `names`, or -1. */
  readonly codes: Int32Array;
  /**
   * Distinct names. Everything that belongs to a lab is prefixed by it, so that two labs never share a code by
   * accident: rig, cue and table 'north/main@1', player, strokeStyle and grip 'north/P1', set-up 'north/club@1' or
   * 'north/club@1/cut'. A stroke style or grip that the lab mapped onto a curated term is that term alone. lab is the
   * slug, sessionDate the calendar date.
   */
  readonly names: readonly string[];
}

export interface ShotColumns {
  readonly count: number;
  readonly ordinals: Int32Array;
  readonly labels: readonly string[];
  readonly variables: Readonly<Record<VariableName, Float64Array>>;
  readonly uncertainties: Readonly<Record<UncertainName, Float64Array>>;
  /** NaN where the total is missing or its parts were not recorded. */
  readonly commonUncertainties: Readonly<Record<CommonPartName, Float64Array>>;
  readonly covarianceSpeedAcceleration: Float64Array;
  readonly groups: Readonly<Record<GroupingName, GroupColumn>>;
  /** Bit masks, see shared/flags.ts. */
  readonly flags: Int32Array;
  /** 1 when recomputed from a track, 0 when only reported. */
  readonly fromTrack: Uint8Array;
  /** Milliseconds since 1970 at which the first revision was received; for margins declared beforehand. */
  readonly receivedAt: Float64Array;
}

/** One shot on its way into columns; null where a value is missing. Gear is written name@version. */
export interface ShotRow {
  readonly lab: string;
  readonly ordinal: number;
  readonly label: string;
  readonly rig: string;
  readonly cue: string | null;
  readonly table: string | null;
  readonly straight: boolean;
  readonly player: string | null;
  /** The lab's code, or `=term` where the lab mapped it onto a curated term; the same for grip. */
  readonly strokeStyle: string | null;
  readonly grip: string | null;
  readonly sessionDate: string | null;
  readonly flags: number;
  readonly fromTrack: boolean;
  readonly receivedAt: number;
  readonly variables: Readonly<Record<VariableName, number | null>>;
  readonly uncertainties: Readonly<Record<UncertainName, number | null>>;
  /** Left out where no part is known. */
  readonly commonUncertainties?: Readonly<Record<CommonPartName, number | null>>;
  readonly covarianceSpeedAcceleration: number | null;
}

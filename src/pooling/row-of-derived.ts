/** A shot and its derivation as one row of the columns. */
import type { DerivedShot } from '../../shared/derivation.ts';
import type { ExpectedByModel } from '../../shared/expected.ts';
import { type FlagName, flagMask } from '../../shared/flags.ts';
import type { Shot } from '../../shared/shot.ts';
import { earlyOutcomeDistance, outcomeClass } from './censored-outcomes.ts';
import { type CommonPartName, commonPartNames, commonParts, type ShotRow } from './columns.ts';

/** The parts of a shot that columns keep. Gear must already be written name@version. */
export type RowContent = Pick<
  Shot,
  'label' | 'rig' | 'cue' | 'table' | 'straight' | 'player' | 'strokeStyle' | 'grip' | 'sessionDate'
>;

export interface RowPlace {
  readonly lab: string;
  /** Place among the shots of its lab. */
  readonly ordinal: number;
  /** Milliseconds since 1970 at which the revision was received; NaN where no clock time is kept. */
  readonly receivedAt: number;
}

/** @returns the row of one shot, from what was sent and what was computed from it (SI). */
export function rowOfDerived(content: RowContent, derived: DerivedShot, place: RowPlace): ShotRow {
  const residual = outcomeResidual(derived);
  return {
    lab: place.lab,
    ordinal: place.ordinal,
    label: content.label,
    rig: content.rig,
    cue: content.cue ?? null,
    table: content.table ?? null,
    straight: content.straight,
    player: content.player ?? null,
    strokeStyle: content.strokeStyle ?? null,
    grip: content.grip ?? null,
    sessionDate: content.sessionDate ?? null,
    flags: flagMask(derived.flags as FlagName[]),
    fromTrack: derived.source === 'track',
    receivedAt: place.receivedAt,
    variables: {
      cueSpeed: derived.cueSpeed?.value ?? null,
      cueAcceleration: derived.cueAcceleration?.value ?? null,
      contactTime: derived.contactTime?.value ?? null,
      countedContactTime: derived.countedContactTime,
      tipOffset: derived.tipOffset?.value ?? null,
      tipHeight: derived.tipHeight?.value ?? null,
      objectBallDistance: derived.objectBallDistance,
      outcomeDistance: derived.outcomeDistance?.value ?? null,
      ballSpeed: derived.ballSpeed,
      cueMass: derived.cueMass,
      elevation: derived.elevation,
      outcomeResidual: residual?.value ?? null,
      outcomeClass: outcomeClass(derived),
      earlyOutcomeDistance: earlyOutcomeDistance(derived),
    },
    uncertainties: {
      cueSpeed: derived.cueSpeed?.standardUncertainty ?? null,
      cueAcceleration: derived.cueAcceleration?.standardUncertainty ?? null,
      contactTime: derived.contactTime?.standardUncertainty ?? null,
      tipOffset: derived.tipOffset?.standardUncertainty ?? null,
      outcomeDistance: derived.outcomeDistance?.standardUncertainty ?? null,
      outcomeResidual: residual?.standardUncertainty ?? null,
    },
    commonUncertainties: Object.fromEntries(
      commonPartNames.map((name) => {
        const { of, to } = commonParts[name];
        const carrier = of === 'outcomeResidual' ? residual : derived[of];
        return [name, carrier?.parts?.[to] ?? null];
      }),
    ) as Record<CommonPartName, number | null>,
    covarianceSpeedAcceleration: derived.covarianceSpeedAcceleration,
  };
}

/**
 * One model for all shots, so that residuals mean the same in every lab: from cue speed and tip offset, by constant
 * restitution. Null where the table is not calibrated or the outcome is a bound.
 */
function outcomeResidual({ expected }: DerivedShot): ExpectedByModel['residual'] {
  return expected.models.find(({ model }) => model === 'constantRestitution')?.residual ?? null;
}

/** Remarks about an accepted shot, in the order of the flag table. */
import type { TrackFit } from '../../shared/derivation.ts';
import { type FlagName, flagNames } from '../../shared/flags.ts';
import type { Shot } from '../../shared/shot.ts';
import type { CountedContact } from './count-contact.ts';
import type { DerivedStroke } from './derive-stroke.ts';
import type { DerivedTip } from './derive-tip-offset.ts';
import { isFrozen } from './frozen-track.ts';
import { hasRepeatedFrames } from './repeated-frames.ts';
import type { SettledGear } from './settle-gear.ts';

export interface FlagInput {
  readonly shot: Shot;
  readonly gear: SettledGear;
  readonly stroke: DerivedStroke | null;
  readonly firstContactDiffers: boolean;
  /** The acceleration was not kept because its interval is wider than what is possible. */
  readonly accelerationLost: boolean;
  readonly contact: CountedContact | null;
  readonly contactResolved: boolean;
  readonly tip: DerivedTip;
  readonly tipOffset: number | null;
  readonly unusual: { readonly cueSpeed: boolean; readonly cueAcceleration: boolean; readonly contactTime: boolean };
  readonly reportedDiffers: boolean;
  readonly censored: boolean;
  readonly restitutionUnusual: boolean;
  /** From `MethodChoices`: whether tracks that cannot show that their intervals hold are flagged. */
  readonly flagsUnassuredIntervals: boolean;
  readonly flagsRepeatedFrames: boolean;
  /** Of the ball track; true without one. */
  readonly everyPhaseShown: boolean;
}

/** Tip offset beyond which a miscue is likely (common practice). */
export const miscueOffset = 0.5;
const fewContactFrames = 4;
const fewTrackPoints = 15;
/** Akaike weight of the second-best order, relative to the best, from which two orders count as equally good: 2 AICc units. */
const ambiguousWeight = 0.36787944117144233;
/** In standard uncertainties. */
const ambiguousGap = 1.5;

/** Flags of a shot; names are in table order and occur once. */
export function deriveFlags(input: FlagInput): FlagName[] {
  const { shot, stroke, tip, unusual, contact } = input;
  const raised: Partial<Record<FlagName, boolean>> = {
    notStraight: !shot.straight,
    tipSizeAssumed: tip.assumed.tipSize,
    ballSizeAssumed: tip.assumed.ballSize,
    elevationAssumed: tip.assumed.elevation,
    cueSpeedUnusual: unusual.cueSpeed,
    cueAccelerationUnusual: unusual.cueAcceleration,
    contactTimeUnusual: unusual.contactTime,
    contactNotResolved: contact !== null && !input.contactResolved,
    fewContactFrames: contact !== null && input.contactResolved && contact.trimmed < fewContactFrames,
    reportedDiffers: input.reportedDiffers,
    firstContactDiffers: input.firstContactDiffers,
    miscueRisk: Math.abs(input.tipOffset ?? 0) > miscueOffset,
    tipClearance: tip.touchesCloth,
    outcomeCensored: input.censored,
    restitutionUnusual: input.restitutionUnusual,
    trimMeaningUnknown:
      contact !== null && contact.trimmedStart + contact.trimmedEnd > 0 && input.gear.rig.trimMeaning === 'unknown',
    intervalNotAssured: input.flagsUnassuredIntervals && stroke?.intervalsAssured === false,
    ballPhaseShort: input.flagsUnassuredIntervals && !input.everyPhaseShown,
    ...(stroke === null ? {} : strokeFlags(stroke, input)),
  };
  for (const name of shot.labFlags) raised[name] = true;
  return flagNames.filter((name) => raised[name] === true);
}

function strokeFlags(
  stroke: DerivedStroke,
  { accelerationLost, flagsRepeatedFrames }: FlagInput,
): Partial<Record<FlagName, boolean>> {
  const { fit, cueAcceleration, track } = stroke;
  return {
    accelerationNotResolved:
      accelerationLost ||
      // The interval is that of the full order and may reach zero where the averaged value seems settled.
      (cueAcceleration !== null &&
        (Math.abs(cueAcceleration.value) < 2 * cueAcceleration.standardUncertainty ||
          (cueAcceleration.lower < 0 && cueAcceleration.upper > 0))),
    outlyingFrames: fit.outlyingFrames.length > 0,
    orderAmbiguous: isAmbiguous(fit.candidates),
    fewTrackPoints: fit.points < fewTrackPoints,
    serialCorrelation: stroke.seriallyCorrelated,
    fitSensitive: fit.exceedsNoise,
    trackFrozen: isFrozen(track, fit.window) || (flagsRepeatedFrames && hasRepeatedFrames(track, fit.window)),
  };
}

/** Two orders are about equally good, yet give accelerations further apart than the wider uncertainty explains. */
function isAmbiguous(candidates: TrackFit['candidates']): boolean {
  let best: TrackFit['candidates'][number] | undefined;
  for (const candidate of candidates) if (best === undefined || candidate.weight > best.weight) best = candidate;
  return candidates.some((other) => {
    if (best === undefined || other === best || other.weight <= ambiguousWeight * best.weight) return false;
    const gap = Math.abs((other.cueAcceleration ?? 0) - (best.cueAcceleration ?? 0));
    const wider = Math.max(other.cueAccelerationUncertainty ?? 0, best.cueAccelerationUncertainty ?? 0);
    return gap > ambiguousGap * wider;
  });
}

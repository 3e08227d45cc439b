/**
 * The instant of first contact a shot is derived with: the declared frame by its half-frame rule, or, when the gap of tip
 * and ball was tracked, the instant at which it closes. The break that contact leaves in the track is found beside it and
 * only compared.
 */
import type { FirstContactFound } from '../../shared/derivation.ts';
import type { CueTrack } from '../../shared/shot.ts';
import { gapContact } from '../kinematics/gap-contact.ts';
import { trackBreak } from '../kinematics/track-break.ts';
import { rootSumSquares } from './estimate.ts';
import type { FirstContact } from './first-contact.ts';
import { scaleGaps, scaleTrack } from './scale-track.ts';
import type { SettledGear } from './settle-gear.ts';

/** In combined standard uncertainties, and in frames: both must be exceeded. */
const differenceLimit = 3;
const leastDifference = 1;
/** Duration of contact the break is sought with, s: the counted one within these limits, else the usual one. */
const usualContactTime = 1.2e-3;
const contactTimeRange = [5e-4, 3e-3] as const;

export interface FoundFirstContact {
  readonly contact: FirstContact;
  readonly found: FirstContactFound;
  /** Break or gap contradict the declared frame. */
  readonly differs: boolean;
}

/**
 * @param declared from the closed frame and the trims
 * @param contactFrames frames in contact as counted; null when not known
 */
export function findFirstContact(
  track: CueTrack,
  closedFrame: number,
  declared: FirstContact,
  contactFrames: number | null,
  gear: SettledGear,
): FoundFirstContact {
  const whole = scaleTrack(track, Number.POSITIVE_INFINITY, declared, gear);
  const usable = whole !== null && isIncreasing(whole.times);
  const rate = gear.captureRate;
  const counted = (contactFrames ?? 0) / rate;
  const isCounted = counted >= contactTimeRange[0] && counted <= contactTimeRange[1];
  const fromBreak = usable
    ? trackBreak({
        times: whole.times,
        positions: whole.positions,
        interval: 1 / rate,
        contactTime: isCounted ? counted : usualContactTime,
      })
    : null;

  let before = 0;
  if (usable) while (before < whole.frames.length && (whole.frames[before] as number) < closedFrame) before += 1;
  const gaps = usable ? scaleGaps(track, before, gear) : null;
  const fromGap = usable && gaps !== null ? gapContact(whole.times.subarray(0, before), gaps) : null;

  const contradicts = (instant: { readonly time: number; readonly standardUncertainty: number } | null) => {
    if (instant === null) return false;
    const frames = Math.abs(instant.time) * rate;
    const combined = rootSumSquares(instant.standardUncertainty * rate, declared.standardUncertainty);
    return frames >= leastDifference && frames > differenceLimit * combined;
  };
  const gapContradicts = contradicts(fromGap);
  const useGap =
    fromGap !== null && !gapContradicts && fromGap.standardUncertainty * rate < declared.standardUncertainty;
  const contact: FirstContact = useGap
    ? {
        frame: declared.frame + fromGap.time * rate,
        standardUncertainty: fromGap.standardUncertainty * rate,
        shape: 'normal',
      }
    : declared;
  return {
    contact,
    differs: gapContradicts || contradicts(fromBreak),
    found: {
      source: useGap ? 'gap' : 'declared',
      frame: contact.frame,
      standardUncertainty: contact.standardUncertainty,
      declared: { frame: declared.frame, standardUncertainty: declared.standardUncertainty },
      fromBreak:
        fromBreak === null
          ? null
          : {
              frame: declared.frame + fromBreak.time * rate,
              standardUncertainty: fromBreak.standardUncertainty * rate,
              speedLoss: fromBreak.speedLoss,
            },
      fromGap:
        fromGap === null
          ? null
          : {
              frame: declared.frame + fromGap.time * rate,
              standardUncertainty: fromGap.standardUncertainty * rate,
              closingSpeed: fromGap.closingSpeed,
              points: fromGap.points,
            },
    },
  };
}

function isIncreasing(times: Float64Array): boolean {
  for (let i = 1; i < times.length; i++) if (!((times[i] as number) > (times[i - 1] as number))) return false;
  return true;
}

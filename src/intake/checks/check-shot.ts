/** Every check that needs no derivation, group by group; all faults of a shot are told at once. */
import type { Fault } from '../../../shared/problems.ts';
import { checkBallTrack } from './check-ball-track.ts';
import { checkContact } from './check-contact.ts';
import type { CheckInput } from './check-input.ts';
import { checkLimits } from './check-limits.ts';
import { checkTimeBase } from './check-time-base.ts';
import { checkTipHeight } from './check-tip-height.ts';
import { checkTrack } from './check-track.ts';

const groups = [checkLimits, checkTrack, checkBallTrack, checkTimeBase, checkContact, checkTipHeight] as const;

/** @returns faults in the order of the groups */
export function checkShot(input: CheckInput): Fault[] {
  return groups.flatMap((group) => group(input));
}

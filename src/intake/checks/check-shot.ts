/** Every check that needs no derivation, group by group; all faults of a shot are told at once. */
import type { Fault } from '../../../shared/problems.ts';
import type { Shot } from '../../../shared/shot.ts';
import { givenFrames } from '../track-frames.ts';
import { checkBallTrack } from './check-ball-track.ts';
import { checkContact } from './check-contact.ts';
import type { CheckInput } from './check-input.ts';
import { checkLimits } from './check-limits.ts';
import { checkTimeBase } from './check-time-base.ts';
import { checkTipHeight } from './check-tip-height.ts';
import { checkTrack } from './check-track.ts';

const groups = [checkLimits, checkTrack, checkBallTrack, checkTimeBase, checkContact, checkTipHeight] as const;

/** Faults that follow where frame numbers come from times on another clock, by the list of those times. */
const followers: readonly (readonly [track: 'cueTrack' | 'ballTrack', follows: RegExp])[] = [
  ['cueTrack', /^(track-too-short \/cueTrack\/positions|contact-outside-track \/contact\/closedFrame)$/],
  ['ballTrack', /^contact-outside-track \/ballTrack\/impactFrame$/],
];

function withoutFollowers(faults: readonly Fault[], shot: Shot): Fault[] {
  const following = followers.flatMap(([name, follows]) => {
    const track = shot[name];
    const misTimed =
      track !== undefined &&
      givenFrames(track) === null &&
      faults.some(({ code, pointer }) => code.startsWith('time-base-') && pointer === `/${name}/times/values`);
    return misTimed ? [follows] : [];
  });
  return faults.filter(({ code, pointer }) => !following.some((follows) => follows.test(`${code} ${pointer}`)));
}

/** @returns faults in the order of the groups */
export function checkShot(input: CheckInput): Fault[] {
  return withoutFollowers(
    groups.flatMap((group) => group(input)),
    input.shot,
  );
}

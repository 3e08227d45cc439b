/** The cue track: what a fit needs before it can start. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { CueTrack } from '../../../shared/shot.ts';
import { trackFrames } from '../track-frames.ts';
import type { CheckInput } from './check-input.ts';
import { checkTrackStructure } from './check-track-structure.ts';

export const leastPointsBeforeContact = 8;

function checkEnough(input: CheckInput, track: CueTrack): Fault[] {
  const closedFrame = input.shot.contact?.closedFrame;
  if (closedFrame === undefined) {
    return [
      fault(
        'first-contact-missing',
        '/contact/closedFrame',
        undefined,
        'the first frame in which the gap looks closed',
      ),
    ];
  }
  const frames = trackFrames(track, input.gear?.captureRate ?? null);
  if (frames === null) return [];
  const before = frames.filter((frame) => frame < closedFrame).length;
  // None at all means that the frames are numbered differently: the check of contact says so.
  if (before >= leastPointsBeforeContact || (before === 0 && frames.length >= leastPointsBeforeContact)) return [];
  return [
    fault(
      'track-too-short',
      '/cueTrack/positions',
      `${before} points before frame ${closedFrame}`,
      'at least 8 points before first contact',
    ),
  ];
}

/**
 * Faults: track-lengths-differ, structure-invalid, frames-not-increasing, first-contact-missing, track-too-short.
 */
export function checkTrack(input: CheckInput): Fault[] {
  const track = input.shot.cueTrack;
  if (track === undefined) return [];
  const unusable = checkTrackStructure(track, '/cueTrack');
  return unusable.length > 0 ? unusable : checkEnough(input, track);
}

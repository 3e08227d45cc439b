/** Structure of the cue track: what a fit needs before it can start. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { CueTrack } from '../../../shared/shot.ts';
import { trackFrames } from '../track-frames.ts';
import type { CheckInput } from './check-input.ts';

export const leastPointsBeforeContact = 8;

function checkLengths({ positions, frames, times }: CueTrack): Fault[] {
  const faults: Fault[] = [];
  const expected = `${positions.length}, one for each position`;
  if (frames !== undefined && frames.length !== positions.length) {
    faults.push(fault('track-lengths-differ', '/cueTrack/frames', `${frames.length} frames`, expected));
  }
  if (times !== undefined && times.values.length !== positions.length) {
    faults.push(fault('track-lengths-differ', '/cueTrack/times/values', `${times.values.length} times`, expected));
  }
  return faults;
}

function checkNumbering({ frames, firstFrame, times }: CueTrack): Fault[] {
  if (frames !== undefined && firstFrame !== undefined) {
    return [fault('structure-invalid', '/cueTrack/firstFrame', firstFrame, 'either frames or firstFrame, not both')];
  }
  if (frames === undefined && firstFrame === undefined && times === undefined) {
    return [fault('structure-invalid', '/cueTrack', 'positions alone', 'frames, firstFrame or times beside them')];
  }
  return [];
}

/** Index of the first value that is not above the one before it, or -1. */
function firstNotIncreasing(values: readonly number[]): number {
  return values.findIndex((value, index) => index > 0 && value <= (values[index - 1] ?? value));
}

function checkIncreasing({ frames, times }: CueTrack): Fault[] {
  const faults: Fault[] = [];
  const lists = [
    ['/cueTrack/frames', frames],
    ['/cueTrack/times/values', times?.values],
  ] as const;
  for (const [pointer, values] of lists) {
    const index = firstNotIncreasing(values ?? []);
    if (values === undefined || index === -1) continue;
    const sent = `${values[index]} after ${values[index - 1]}`;
    faults.push(fault('frames-not-increasing', `${pointer}/${index}`, sent, `more than ${values[index - 1]}`));
  }
  return faults;
}

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
  const unusable = [...checkLengths(track), ...checkNumbering(track), ...checkIncreasing(track)];
  const enough = unusable.length > 0 ? [] : checkEnough(input, track);
  return [...unusable, ...enough];
}

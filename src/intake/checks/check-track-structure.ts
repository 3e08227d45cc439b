/** What every track must satisfy before anything can be computed from it. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { TrackPoints } from '../track-frames.ts';

/** Pointer of a track of the shot. */
export type TrackPointer = '/cueTrack' | '/ballTrack';

function checkLengths({ positions, frames, times, gaps }: TrackPoints, track: TrackPointer): Fault[] {
  const lists = [
    ['frames', '/frames', frames],
    ['times', '/times/values', times?.values],
    ['gaps', '/gaps', gaps],
  ] as const;
  return lists.flatMap(([name, pointer, list]) => {
    if (list === undefined || list.length === positions.length) return [];
    const expected = `${positions.length}, one for each position`;
    return [fault('track-lengths-differ', `${track}${pointer}`, `${list.length} ${name}`, expected)];
  });
}

function checkNumbering({ frames, firstFrame, times }: TrackPoints, track: TrackPointer): Fault[] {
  if (frames !== undefined && firstFrame !== undefined) {
    return [fault('structure-invalid', `${track}/firstFrame`, firstFrame, 'either frames or firstFrame, not both')];
  }
  if (frames === undefined && firstFrame === undefined && times === undefined) {
    return [fault('structure-invalid', track, 'positions alone', 'frames, firstFrame or times beside them')];
  }
  return [];
}

/** Index of the first value that is not above the one before it, or -1. */
function firstNotIncreasing(values: readonly number[]): number {
  return values.findIndex((value, index) => index > 0 && value <= (values[index - 1] ?? value));
}

function checkIncreasing({ frames, times }: TrackPoints, track: TrackPointer): Fault[] {
  const faults: Fault[] = [];
  const lists = [
    [`${track}/frames`, frames],
    [`${track}/times/values`, times?.values],
  ] as const;
  for (const [pointer, values] of lists) {
    const index = firstNotIncreasing(values ?? []);
    if (values === undefined || index === -1) continue;
    const sent = `${values[index]} after ${values[index - 1]}`;
    faults.push(fault('frames-not-increasing', `${pointer}/${index}`, sent, `more than ${values[index - 1]}`));
  }
  return faults;
}

/** Faults: track-lengths-differ, structure-invalid, frames-not-increasing. */
export function checkTrackStructure(points: TrackPoints, track: TrackPointer): Fault[] {
  return [...checkLengths(points, track), ...checkNumbering(points, track), ...checkIncreasing(points, track)];
}

/** Frame numbers and times of a track, however they were given. */
import type { CueTrack } from '../../shared/shot.ts';
import { lookUpUnit, siFactors } from '../../shared/units.ts';

/** The points of a cue track or a ball track. */
export type TrackPoints = Pick<CueTrack, 'unit' | 'positions' | 'frames' | 'firstFrame' | 'times' | 'gaps'>;

/** Times of a track in seconds, or null when it has none or their unit is not known. */
export function trackTimes({ times }: TrackPoints, captureRate: number): number[] | null {
  if (times === undefined) return null;
  const known = lookUpUnit(times.unit, 'trackTime');
  if (!known.ok) return null;
  const { multiplier, divisor } = siFactors(known.code, 'trackTime', { captureRate });
  return times.values.map((value) => (value * multiplier) / divisor);
}

/** Frame numbers as given or counted from firstFrame; null when only times were given. */
export function givenFrames({ frames, firstFrame, positions }: TrackPoints): readonly number[] | null {
  if (frames !== undefined) return frames;
  return firstFrame === undefined ? null : positions.map((_, index) => firstFrame + index);
}

/**
 * Frame number of each position: as given, or time * capture rate to the nearest frame.
 *
 * @param captureRate 1/s; null when the rig is not known, then times alone give no frames
 */
export function trackFrames(track: TrackPoints, captureRate: number | null): readonly number[] | null {
  const given = givenFrames(track);
  if (given !== null || captureRate === null) return given;
  return trackTimes(track, captureRate)?.map((time) => Math.round(time * captureRate)) ?? null;
}

/** The cue track as sent, cut before contact and turned into SI relative to first contact. */
import type { CueTrack } from '../../shared/shot.ts';
import { lookUpUnit, siFactors, unitNeeds } from '../../shared/units.ts';
import type { FirstContact } from './first-contact.ts';
import type { SettledGear } from './settle-gear.ts';

export interface ScaledTrack {
  /** s relative to first contact, increasing, all before it. */
  readonly times: Float64Array;
  /** m relative to the last point before contact, positive towards the ball. */
  readonly positions: Float64Array;
  /** Frame numbers of the points. */
  readonly frames: Float64Array;
}

/**
 * Scales the points with a frame before `closedFrame`. Frame numbers are the sent ones, or counted from `firstFrame`,
 * or the given times multiplied by the capture rate.
 *
 * @returns null when the unit of the track cannot be converted (pixels without a scale)
 */
export function scaleTrack(
  track: CueTrack,
  closedFrame: number,
  contact: Pick<FirstContact, 'frame'>,
  gear: SettledGear,
): ScaledTrack | null {
  const unit = lookUpUnit(track.unit, 'cuePosition');
  if (!unit.ok) return null;
  const needs = unitNeeds(unit.code, 'cuePosition');
  if (needs !== null && gear.context[needs] === undefined) return null;
  const { multiplier, divisor } = siFactors(unit.code, 'cuePosition', gear.context);

  const frames = frameNumbers(track, gear);
  const all = Math.min(frames.length, track.positions.length);
  let count = 0;
  while (count < all && (frames[count] ?? Number.NaN) < closedFrame) count += 1;

  const sign = gear.rig.positiveTowardsBall ? 1 : -1;
  // Subtracting before scaling keeps the digits of a track that lies far from its origin.
  const origin = track.positions[count - 1] ?? 0;
  const times = new Float64Array(count);
  const positions = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    times[i] = ((frames[i] ?? 0) - contact.frame) / gear.captureRate;
    positions[i] = (sign * ((track.positions[i] ?? 0) - origin) * multiplier) / divisor;
  }
  return { times, positions, frames: frames.slice(0, count) };
}

/** Tip-ball gaps of the first `count` points in m, NaN where none was tracked; null when the track has none at all. */
export function scaleGaps(track: CueTrack, count: number, gear: SettledGear): Float64Array | null {
  const { gaps } = track;
  const unit = lookUpUnit(track.unit, 'cuePosition');
  if (gaps === undefined || !unit.ok) return null;
  const { multiplier, divisor } = siFactors(unit.code, 'cuePosition', gear.context);
  const scaled = new Float64Array(count);
  for (let i = 0; i < count; i++) scaled[i] = ((gaps[i] ?? Number.NaN) * multiplier) / divisor;
  return scaled;
}

function frameNumbers(track: CueTrack, gear: SettledGear): Float64Array {
  if (track.frames !== undefined) return Float64Array.from(track.frames);
  const count = track.positions.length;
  const frames = new Float64Array(count);
  if (track.firstFrame === undefined && track.times !== undefined) return framesOfTimes(track.times, count, gear);
  const first = track.firstFrame ?? 0;
  for (let i = 0; i < count; i++) frames[i] = first + i;
  return frames;
}

/** Times are of whole frames, so rounding takes the lab's own rounding out again, unless it would merge two points. */
function framesOfTimes(times: NonNullable<CueTrack['times']>, count: number, gear: SettledGear): Float64Array {
  const unit = lookUpUnit(times.unit, 'trackTime');
  const { multiplier, divisor } = unit.ok
    ? siFactors(unit.code, 'trackTime', gear.context)
    : { multiplier: 1, divisor: 1 };
  const frames = new Float64Array(count);
  let distinct = true;
  for (let i = 0; i < count; i++) {
    frames[i] = (((times.values[i] ?? Number.NaN) * multiplier) / divisor) * gear.captureRate;
    if (i > 0 && Math.round(frames[i] as number) === Math.round(frames[i - 1] as number)) distinct = false;
  }
  return distinct ? frames.map((frame) => Math.round(frame)) : frames;
}

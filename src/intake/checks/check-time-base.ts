/** Times must follow the capture rate: frame number / capture rate, up to a constant. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import { givenFrames, type TrackPoints, trackTimes } from '../track-frames.ts';
import { ballCamera } from './ball-camera.ts';
import type { CheckInput } from './check-input.ts';

/** The clock that the times must follow, and where they stand. */
interface Clock {
  readonly pointer: string;
  /** Frames per second. */
  readonly captureRate: number;
  readonly playbackRate: number | null;
  /** Relative standard uncertainty. */
  readonly clockUncertainty: number;
}

/** Largest difference between the values of time - frame / rate, s. */
function spread(times: readonly number[], frames: readonly number[], rate: number): number {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const [index, time] of times.entries()) {
    const difference = time - (frames[index] ?? 0) / rate;
    least = Math.min(least, difference);
    most = Math.max(most, difference);
  }
  return most - least;
}

function span(values: readonly number[]): number {
  return (values.at(-1) ?? 0) - (values[0] ?? 0);
}

const perFrame = (seconds: number): string => `${(seconds * 1000).toPrecision(4)} ms a frame`;

function atPlayback(sent: string, expected: string, { pointer, captureRate }: Clock, playbackRate: number): Fault {
  const factor = Number((captureRate / playbackRate).toPrecision(6));
  const remedy = `The times are ${factor} times too long: divide them by ${factor}, or send frame numbers only.`;
  return fault('time-base-playback', pointer, sent, expected, remedy);
}

function checkAgainstFrames(times: readonly number[], frames: readonly number[], given: Clock): Fault[] {
  const { pointer, captureRate, playbackRate, clockUncertainty } = given;
  const clock = 3 * clockUncertainty * Math.abs(span(times));
  const follows = (rate: number) => spread(times, frames, rate) <= 1 / rate + clock;
  if (follows(captureRate)) return [];
  const sent = perFrame(span(times) / span(frames));
  const expected = `${perFrame(1 / captureRate)}, as at ${captureRate} frames/s`;
  if (playbackRate !== null && follows(playbackRate)) return [atPlayback(sent, expected, given, playbackRate)];
  return [fault('time-base-mismatch', pointer, sent, expected)];
}

/** Without frame numbers, steps of one playback frame give the mix-up away, and no two times may share a frame. */
function checkAlone(times: readonly number[], given: Clock): Fault[] {
  const { pointer, captureRate, playbackRate } = given;
  const steps = times.slice(1).map((time, index) => time - (times[index] ?? 0));
  const sorted = [...steps].sort((one, other) => one - other);
  const median = sorted[Math.floor(sorted.length / 2)] ?? 0;
  const expected = `whole steps of ${perFrame(1 / captureRate)}, as at ${captureRate} frames/s`;
  if (playbackRate !== null && playbackRate < captureRate && Math.abs(median * playbackRate - 1) < 0.01) {
    return [atPlayback(perFrame(median), expected, given, playbackRate)];
  }
  const least = sorted[0] ?? 0;
  if (least * captureRate >= 0.5) return [];
  return [fault('time-base-mismatch', pointer, perFrame(least), expected)];
}

function checkTimes(track: TrackPoints, clock: Clock): Fault[] {
  if (track.times === undefined || track.positions.length < 2) return [];
  const times = trackTimes(track, clock.captureRate);
  const frames = givenFrames(track);
  if (times === null || times.length !== track.positions.length) return [];
  if (times.some((time, index) => index > 0 && time <= (times[index - 1] ?? time))) return [];
  if (frames === null) return checkAlone(times, clock);
  return frames.length === times.length ? checkAgainstFrames(times, frames, clock) : [];
}

/**
 * Faults: time-base-playback when the times follow the playback rate of the rig (of a ball track: of its camera), else
 * time-base-mismatch. Allowed is half a frame either way, because times are often rounded, and three standard
 * uncertainties of the clock.
 */
export function checkTimeBase({ shot: { cueTrack, ballTrack }, gear, refusedUnits }: CheckInput): Fault[] {
  if (gear === null) return [];
  const cue = cueTrack === undefined ? [] : checkTimes(cueTrack, { ...gear, pointer: '/cueTrack/times/values' });
  if (ballTrack === undefined || refusedUnits.has('/ballTrack/captureRate')) return cue;
  return [...cue, ...checkTimes(ballTrack, { ...ballCamera(ballTrack, gear), pointer: '/ballTrack/times/values' })];
}

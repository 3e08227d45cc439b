/** The ball track: structure, rates, and the two frames in which something touches the ball. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { BallTrack } from '../../../shared/shot.ts';
import { trackFrames } from '../track-frames.ts';
import { ballCamera } from './ball-camera.ts';
import type { CheckInput } from './check-input.ts';
import { checkTrackStructure } from './check-track-structure.ts';

function checkRates(track: BallTrack, input: CheckInput): Fault[] {
  const { captureRate: capture, playbackRate: playback } = track;
  if (capture === undefined || playback === undefined || input.gear === null) return [];
  if (input.refusedUnits.has('/ballTrack/captureRate') || input.refusedUnits.has('/ballTrack/playbackRate')) return [];
  const { captureRate, playbackRate } = ballCamera(track, input.gear);
  if (playbackRate === null || playbackRate <= captureRate) return [];
  const sent = `${playback.value} ${playback.unit}`;
  return [fault('playback-above-capture', '/ballTrack/playbackRate', sent, `at most ${capture.value} ${capture.unit}`)];
}

function checkFrames(track: BallTrack, input: CheckInput): Fault[] {
  const { contactFrame, impactFrame } = track;
  if (impactFrame === undefined) return [];
  if (contactFrame !== undefined && impactFrame <= contactFrame) {
    const expected = `more than contactFrame, ${contactFrame}`;
    const remedy = 'The tip touches the ball in contactFrame, the balls touch later, in impactFrame: check both.';
    return [fault('structure-invalid', '/ballTrack/impactFrame', `frame ${impactFrame}`, expected, remedy)];
  }
  const rate = input.gear === null ? null : ballCamera(track, input.gear).captureRate;
  const frames = trackFrames(track, rate);
  const [first] = frames ?? [];
  const last = frames?.at(-1);
  if (first === undefined || last === undefined || (impactFrame >= first && impactFrame <= last)) return [];
  const expected = `a frame of the ball track, ${first} to ${last}`;
  return [fault('contact-outside-track', '/ballTrack/impactFrame', `frame ${impactFrame}`, expected)];
}

/**
 * Faults: track-lengths-differ, structure-invalid, frames-not-increasing, playback-above-capture,
 * contact-outside-track.
 */
export function checkBallTrack(input: CheckInput): Fault[] {
  const track = input.shot.ballTrack;
  if (track === undefined) return [];
  const unusable = checkTrackStructure(track, '/ballTrack');
  return [...unusable, ...checkRates(track, input), ...(unusable.length > 0 ? [] : checkFrames(track, input))];
}

/** Whether a track repeats one position while the cue must have moved on: a frozen tracker or duplicated frames. */
import type { ScaledTrack } from './scale-track.ts';

/** Repeats of one position that make a run. */
const leastRepeats = 3;
/** A run is only telling when the cue moved on by several steps of the position scale. */
const leastSteps = 4;

/**
 * A run of at least four equal positions in the window, over which the cue at its mean speed travelled more than four
 * steps of the position scale (the smallest change between neighbouring points: one pixel in whole-pixel tracks).
 *
 * @param window s before first contact
 */
export function isFrozen(track: ScaledTrack, window: number): boolean {
  const { times, positions } = track;
  const last = times.length - 1;
  let start = last;
  while (start > 0 && (times[start - 1] as number) >= -window) start -= 1;
  const duration = (times[last] as number) - (times[start] as number);
  const speed = Math.abs((positions[last] as number) - (positions[start] as number)) / duration;

  let step = Number.POSITIVE_INFINITY;
  for (let i = start + 1; i <= last; i++) {
    const change = Math.abs((positions[i] as number) - (positions[i - 1] as number));
    if (change > 0 && change < step) step = change;
  }
  let runStart = start;
  for (let i = start + 1; i <= last; i++) {
    if (positions[i] !== positions[i - 1]) runStart = i;
    else if (
      i - runStart >= leastRepeats &&
      speed * ((times[i] as number) - (times[runStart] as number)) > leastSteps * step
    ) {
      return true;
    }
  }
  return false;
}

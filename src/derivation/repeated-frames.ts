/** Whether frames of a track repeat the one before again and again while the cue moves: a film whose rate was raised by doubling. */
import type { ScaledTrack } from './scale-track.ts';

/** Below so many steps of the position scale a frame, a moving cue may well stay on one step. */
const leastSteps = 4;
/** Distances that no film tells, m; beyond what rounding leaves of positions far from their origin. */
const rounding = 1e-9;
/** So few repeats are let pass whatever the track. */
const passed = 3;
/** Further repeats that are let pass: so many standard deviations of a Poisson number. */
const deviations = 4;

/**
 * Repeats of the position before, in the window, beyond what noise can do. Positions lie on a grid of step q; the cue moves
 * m a frame. Normal noise of any size brings two neighbours onto one step with a probability of at most 0.242 q/m (its
 * density at m is greatest where the difference has the standard deviation m): derived here.
 *
 * @param window s before first contact
 */
export function hasRepeatedFrames({ times, positions }: ScaledTrack, window: number): boolean {
  const last = times.length - 1;
  let start = last;
  while (start > 0 && (times[start - 1] as number) >= -window) start -= 1;
  let repeats = 0;
  for (let i = start + 1; i <= last; i++) if (positions[i] === positions[i - 1]) repeats += 1;
  if (repeats <= passed) return false;
  const frames = last - start;
  const motion = Math.abs((positions[last] as number) - (positions[start] as number)) / frames;
  const step = gridStep(positions, start, last);
  if (!(motion > leastSteps * step)) return false;
  const chance = (0.25 * step * frames) / motion;
  return repeats > passed + chance + deviations * Math.sqrt(chance);
}

/**
 * Step of the grid on which the positions lie: the smallest distance of two changes between neighbours that is more than
 * rounding. Changes themselves would not do: where every second frame repeats, none of them is small.
 */
function gridStep(positions: Float64Array, start: number, last: number): number {
  const changes = new Float64Array(last - start);
  for (let i = start; i < last; i++) {
    changes[i - start] = Math.abs((positions[i + 1] as number) - (positions[i] as number));
  }
  changes.sort();
  let step = changes[0] as number;
  if (!(step > rounding)) step = Number.POSITIVE_INFINITY;
  for (let i = 1; i < changes.length; i++) {
    const distance = (changes[i] as number) - (changes[i - 1] as number);
    if (distance > rounding && distance < step) step = distance;
  }
  return step;
}

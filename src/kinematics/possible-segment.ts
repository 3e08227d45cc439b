/** Which fitted stretches of ball motion can be: breaks among the points, accelerations that a cloth gives a ball. */
import type { SegmentForm } from './ball-segment.ts';

/** Accelerations that a cloth can give a ball, m/s2: sliding friction 0.02 to 1, rolling 0.0005 to 0.1 of gravity. */
const possible = { leastSlide: 0.2, mostSlide: 9.8, leastRoll: 0.005, mostRoll: 0.98 } as const;

/** A break among the first or last points would leave a parameter without any. */
export function breaksWithin(form: SegmentForm, parameters: Float64Array, u: Float64Array): boolean {
  const least = u[1] as number;
  const most = u[u.length - 2] as number;
  const restAt = parameters[1] as number;
  const bendAt = parameters[4] as number;
  return (!form.rest || (restAt > least && restAt < most)) && (!form.broken || (bendAt > least && bendAt < most));
}

/** Breaks inside the points, with points on both sides, and accelerations that friction can give. */
export function isPossible(form: SegmentForm, parameters: Float64Array, u: Float64Array, halfWidth: number): boolean {
  for (let k = 0; k < parameters.length; k += 1) if (!Number.isFinite(parameters[k])) return false;
  if (!breaksWithin(form, parameters, u)) return false;
  const roll = (2 * (parameters[2] as number)) / (halfWidth * halfWidth);
  const restAt = form.rest ? (parameters[1] as number) : 1;
  if (!form.broken) return Math.abs(roll) <= possible.mostSlide;
  const bendAt = parameters[4] as number;
  const slide = roll + (2 * (parameters[3] as number)) / (halfWidth * halfWidth);
  return (
    bendAt <= restAt &&
    Math.abs(slide) >= possible.leastSlide &&
    Math.abs(slide) <= possible.mostSlide &&
    Math.abs(roll) <= possible.mostRoll &&
    Math.abs(roll) < Math.abs(slide) / 2 &&
    (!form.rest || Math.abs(roll) >= possible.leastRoll)
  );
}

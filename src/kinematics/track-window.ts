/** Which points of a track are fitted. */

/** Fewest points of a fit. */
export const leastPoints = 8;

/**
 * Index of the first point of the window: the points of the last `window` seconds before first contact, or, when
 * these are fewer than `least`, the last `least` points however long they take. Null when the track has fewer than
 * `least` points before contact.
 *
 * @param times s relative to first contact, increasing; the first `end` of them are used
 * @param window s
 */
export function windowStart(times: Float64Array, end: number, window: number, least: number): number | null {
  if (end < least) return null;
  // A point that rounding puts just outside belongs to the window.
  const earliest = -window * (1 + 1e-9);
  let start = end;
  while (start > 0 && (times[start - 1] as number) >= earliest) start -= 1;
  return Math.min(start, end - least);
}

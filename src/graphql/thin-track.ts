/** Fewer points of a track for drawing, without losing what the eye would see. */

/**
 * Places of the points to keep: the first, the last, and of each stretch between them the smallest and the largest
 * position, in order. With at most `points` points the whole track stays.
 *
 * @param points at least 4
 */
export function thinTrack(positions: readonly number[], points: number): number[] {
  if (positions.length <= points) return positions.map((_, place) => place);
  const last = positions.length - 1;
  const stretches = Math.floor((points - 2) / 2);
  const kept = new Set([0, last]);
  for (let stretch = 0; stretch < stretches; stretch += 1) {
    const from = 1 + Math.floor((stretch * (last - 1)) / stretches);
    const to = 1 + Math.floor(((stretch + 1) * (last - 1)) / stretches);
    let least = from;
    let most = from;
    for (let place = from; place < to; place += 1) {
      if ((positions[place] as number) < (positions[least] as number)) least = place;
      if ((positions[place] as number) > (positions[most] as number)) most = place;
    }
    kept.add(least).add(most);
  }
  return [...kept].sort((first, second) => first - second);
}

/** A root of a continuous function between two ends at which it has opposite signs. */

const mostSteps = 400;

/**
 * False position with halved weights on the end that stays (the Illinois method, Dowell & Jarratt 1971, BIT 11:168), and
 * a bisection whenever three steps have not halved the bracket. Ends at the relative width `accuracy`.
 * @param low, high ends with f(low) and f(high) of opposite sign or zero
 */
export function findRoot(value: (at: number) => number, low: number, high: number, accuracy = 1e-15): number {
  let [from, to] = [low, high];
  let [atFrom, atTo] = [value(from), value(to)];
  if (atFrom === 0) return from;
  if (atTo === 0) return to;
  let width = to - from;
  let sinceHalved = 0;
  for (let step = 0; step < mostSteps; step += 1) {
    const secant = from + (to - from) * (atFrom / (atFrom - atTo));
    const inside = Number.isFinite(secant) && secant > from && secant < to;
    const next = sinceHalved < 3 && inside ? secant : from + (to - from) / 2;
    if (next === from || next === to) break;
    const found = value(next);
    if (found === 0) return next;
    if (found < 0 === atFrom < 0) {
      from = next;
      atFrom = found;
      atTo /= 2;
    } else {
      to = next;
      atTo = found;
      atFrom /= 2;
    }
    sinceHalved = to - from > width / 2 ? sinceHalved + 1 : 0;
    if (sinceHalved === 0) width = to - from;
    if (to - from <= accuracy * Math.abs(to)) break;
  }
  return from + (to - from) / 2;
}

/**
 * The first end beyond which a function that starts below zero rises above it, by doubling from `start`; null when it
 * never does within 200 doublings.
 */
export function bracketAbove(value: (at: number) => number, start: number): number | null {
  let end = start;
  for (let step = 0; step < 200; step += 1) {
    if (value(end) >= 0) return end;
    end *= 2;
  }
  return null;
}

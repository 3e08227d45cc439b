/** Where a ball track changes its nature: the first motion, blows (a sudden change of speed), and its noise. */

/** A cloth changes the speed of a ball by no more than this, m/s2: sliding friction 0.4 of gravity. */
const strongestFriction = 4;
/** A blow shows when the speed jumps by this many standard deviations more than friction explains. */
const jumpDeviations = 5;
/** Time on each side over which speed is taken, s, and the number of points it needs and uses at most. */
const speedSpan = 0.06;
const leastSpan = 3;
const mostSpan = 12;
/** A point that strays from the resting place by more standard deviations than this has moved. */
const movedDeviations = 6;

/**
 * Standard deviation of a position, m: 1.4826 times the median absolute third difference over sqrt(20), which parabolas
 * do not enter, with the rounding of the positions (smallest step over sqrt 12).
 */
export function trackNoise(positions: Float64Array): number {
  const count = positions.length;
  if (count < 5) return 0;
  const thirds = new Float64Array(count - 3);
  let step = Number.POSITIVE_INFINITY;
  for (let i = 0; i < count - 1; i += 1) {
    const change = Math.abs((positions[i + 1] as number) - (positions[i] as number));
    if (change > 0 && change < step) step = change;
  }
  for (let i = 0; i < count - 3; i += 1) {
    const first = positions[i] as number;
    const second = positions[i + 1] as number;
    const third = positions[i + 2] as number;
    thirds[i] = Math.abs((positions[i + 3] as number) - 3 * third + 3 * second - first);
  }
  thirds.sort();
  const median = thirds[Math.floor(thirds.length / 2)] as number;
  const scatter = (1.4826 * median) / Math.sqrt(20);
  const rounding = step === Number.POSITIVE_INFINITY ? 0 : step / Math.sqrt(12);
  return Math.sqrt(scatter * scatter + rounding * rounding);
}

/** A point this many standard deviations off the median of itself and its neighbours is a jump of the tracker. */
const spikeDeviations = 8;

/** Which points to keep: single points that jump aside and back are no motion of a ball. */
export function withoutSpikes(positions: Float64Array, noise: number): boolean[] {
  const last = positions.length - 1;
  return Array.from(positions, (place, i) => {
    if (i === 0 || i === last) return true;
    const before = positions[i - 1] as number;
    const after = positions[i + 1] as number;
    const median = Math.max(Math.min(before, after), Math.min(Math.max(before, after), place));
    return Math.abs(place - median) <= spikeDeviations * noise;
  });
}

/** A sudden change of speed between points `index - 1` and `index`. */
export interface Blow {
  readonly index: number;
  /** m/s, rough. */
  readonly before: number;
  readonly after: number;
}

/** Slope of points [from, to) by least squares, m/s, and its standard deviation for a position noise of 1 m. */
function slope(times: Float64Array, positions: Float64Array, from: number, to: number) {
  const count = to - from;
  let meanTime = 0;
  let meanPlace = 0;
  for (let i = from; i < to; i += 1) {
    meanTime += (times[i] as number) / count;
    meanPlace += (positions[i] as number) / count;
  }
  let squares = 0;
  let products = 0;
  for (let i = from; i < to; i += 1) {
    const left = (times[i] as number) - meanTime;
    squares += left * left;
    products += left * ((positions[i] as number) - meanPlace);
  }
  return { speed: products / squares, deviation: 1 / Math.sqrt(squares), meanTime };
}

/**
 * The strongest blow in [from, to): the place where the speed jumps most beyond what friction and noise explain.
 *
 * @param falls true to look only for a ball that loses forward speed (the impact on the object ball)
 */
export function strongestBlow(
  times: Float64Array,
  positions: Float64Array,
  noise: number,
  from: number,
  to: number,
  falls: boolean,
): Blow | null {
  const interval = ((times[to - 1] as number) - (times[from] as number)) / (to - 1 - from);
  const span = Math.min(mostSpan, Math.max(leastSpan, Math.round(speedSpan / interval)));
  let best: Blow | null = null;
  let most = 0;
  for (let k = from + span; k <= to - span; k += 1) {
    const before = slope(times, positions, k - span, k);
    const after = slope(times, positions, k, k + span);
    const jump = before.speed - after.speed;
    if (falls && !(jump > 0 && before.speed > 0 && after.speed < 0.6 * before.speed)) continue;
    const friction = strongestFriction * (after.meanTime - before.meanTime);
    const chance = jumpDeviations * noise * rootSum(before.deviation, after.deviation);
    const excess = Math.abs(jump) - friction - chance;
    if (excess > 0 && Math.abs(jump) > most) {
      most = Math.abs(jump);
      best = { index: k, before: before.speed, after: after.speed };
    }
  }
  return best;
}

/** A ball that lies still at the start of the film. */
export interface StartOfMotion {
  /** First point that has surely moved. */
  readonly moving: number;
  /** Resting place, m, and the number of points it is the mean of. */
  readonly place: number;
  readonly points: number;
}

/**
 * Finds where the ball starts to move, or null when it moves from the first point on. The point before the first that
 * has moved belongs to neither side: it may have moved within the noise.
 */
export function startOfMotion(positions: Float64Array, noise: number): StartOfMotion | null {
  let sum = 0;
  let points = 0;
  for (let i = 0; i < positions.length; i += 1) {
    const place = positions[i] as number;
    const mean = points === 0 ? place : sum / points;
    if (Math.abs(place - mean) > movedDeviations * noise * Math.sqrt(1 + 1 / Math.max(1, points))) {
      if (i < 3) return null;
      const kept = i - 1;
      const last = positions[i - 1] as number;
      return { moving: i, place: (sum - last) / kept, points: kept };
    }
    sum += place;
    points += 1;
  }
  return null;
}

function rootSum(a: number, b: number): number {
  return Math.sqrt(a * a + b * b);
}

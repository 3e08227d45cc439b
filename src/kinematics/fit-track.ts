/**
 * Cue speed and acceleration at first contact from the cue track before it.
 *
 * Position is fitted by a polynomial in time over the window before contact and differentiated at first contact,
 * t = 0, which lies at the end of the window or up to one frame beyond.
 *
 * - Window: the last `window` seconds before contact, or the last 8 points (order + 4 for a fixed order 5) when these
 *   are fewer; a track with fewer than that before contact has too few points.
 * - Order: fixed, or the Akaike-weighted average of the candidate orders 2, 3 and 4.
 * - Outlying points are judged against the highest candidate, whose bias cannot be mistaken for an outlier, and taken
 *   out one at a time, at most a tenth of them.
 * - Standard uncertainties: model averaged, inflated for serial correlation, with the effect of the uncertain instant of
 *   contact (acceleration times its standard uncertainty on the speed, jerk times it on the acceleration).
 * - 95 % intervals: those of the highest candidate order, with Student's t. An interval built from averaged orders covers
 *   too often where the low order holds and too seldom where a higher term is just too small to be seen; no shorter
 *   interval than that of the full order keeps its promise for every stroke (Leeb & Poetscher, Econometric Theory 21, 21
 *   (2005) [from memory]). So the value is the better guess, the interval the safe one, and the value need not be its
 *   middle. tests/studies/track-coverage.ts shows both.
 */
import { studentQuantile } from '../statistics/distributions.ts';
import { averageOrders } from './average-orders.ts';
import { halfWidth95, normalFactor95 } from './coverage.ts';
import { fitPolynomial, type PolynomialFit } from './fit-polynomial.ts';
import { type OrderEstimate, orderEstimates } from './order-estimates.ts';
import { outlyingPoint } from './outlying-points.ts';
import { serialCorrelation } from './serial-correlation.ts';
import { leastPoints, windowStart } from './track-window.ts';

export interface TrackFitInput {
  /** s relative to first contact, <= 0, strictly increasing. */
  readonly times: Float64Array;
  /** m, positive towards the ball. */
  readonly positions: Float64Array;
  /** Fixed order 1..5, or null to weigh orders 2, 3 and 4. */
  readonly order: number | null;
  /** s; 0.04 is the default of a rig. */
  readonly window: number;
  /**
   * Standard uncertainty of the zero of `times`, s. When first contact is only known to lie between two frames, put the
   * zero midway between them and give frame interval / sqrt(12): it is taken as rectangular.
   */
  readonly firstContactUncertainty: number;
}

/** What a 95 % interval is made of, so that further errors can be added before it is drawn (see `interval95`). */
export interface IntervalParts {
  /** Middle of the interval. */
  readonly centre: number;
  /** Standard deviation of the normal part; already widened so that 1.96 times it covers 95 % for Student's t. */
  readonly normal: number;
  /** Half-width of the rectangular part, from the uncertain instant of contact. */
  readonly rectangular: number;
}

export interface OrderCandidate {
  readonly order: number;
  readonly points: number;
  readonly cueSpeed: number;
  readonly cueSpeedUncertainty: number;
  readonly cueAcceleration: number | null;
  readonly cueAccelerationUncertainty: number | null;
  readonly residualStandardDeviation: number;
  readonly aicc: number;
  readonly weight: number;
}

export interface TrackFit {
  readonly ok: true;
  /** m/s. */
  readonly speed: number;
  readonly speedUncertainty: number;
  readonly speedInterval: IntervalParts;
  /** m/s2; null at order 1. */
  readonly acceleration: number | null;
  readonly accelerationUncertainty: number | null;
  readonly accelerationInterval: IntervalParts | null;
  /** Of speed and acceleration, m2/s3; null at order 1. */
  readonly covariance: number | null;
  /** Change of acceleration at first contact, m/s3; 0 at orders 1 and 2. */
  readonly jerk: number;
  /** Of the order that gives the intervals. */
  readonly degreesOfFreedom: number;
  /** Student's t of 0.975 at those degrees of freedom. */
  readonly coverageFactor: number;
  /** From the first point used to first contact, s. */
  readonly window: number;
  /** Points used, outlying ones not counted. */
  readonly points: number;
  /** Order with the largest weight. */
  readonly order: number;
  readonly residualStandardDeviation: number;
  readonly lagOneCorrelation: number;
  readonly uncertaintyInflation: number;
  /** Indices into the given arrays, increasing. */
  readonly outlyingIndices: readonly number[];
  readonly candidates: readonly OrderCandidate[];
}

export type TrackFitResult = TrackFit | { readonly ok: false; readonly reason: 'tooFewPoints' | 'motionless' };

const candidateOrders = [2, 3, 4] as const;
/** Probability of calling any point of a clean track outlying. */
const outlierLevel = 0.01;
/** White noise of a few hundred points spreads over about six standard deviations. */
const noiseSpread = 6;
const rootThree = Math.sqrt(3);

/**
 * Fits one track.
 *
 * @throws RangeError when times are not strictly increasing, or the order is not null or 1..5
 */
export function fitTrack(input: TrackFitInput): TrackFitResult {
  const { times, positions, order } = input;
  if (order !== null && !(Number.isInteger(order) && order >= 1 && order <= 5)) throw new RangeError(`order ${order}`);
  let end = times.length;
  while (end > 0 && (times[end - 1] as number) > 0) end -= 1;
  const least = order === null ? leastPoints : Math.max(leastPoints, order + 4);
  const start = windowStart(times, end, input.window, least);
  if (start === null) return { ok: false, reason: 'tooFewPoints' };
  for (let i = start + 1; i < end; i += 1) {
    if (!((times[i] as number) > (times[i - 1] as number))) throw new RangeError('times must increase');
  }

  const orders = order === null ? candidateOrders : [order];
  const highest = orders[orders.length - 1] as number;
  const { fit, kept, outlyingIndices, roundingSum } = fitWithoutOutlyingPoints(
    times.slice(start, end),
    positions.slice(start, end),
    highest,
    start,
  );
  const estimates = orderEstimates(fit, orders, 0, roundingSum);
  const { lagOne, inflation } = serialCorrelation(fit.residuals);
  const mean = averageOrders(estimates, inflation);
  const full = estimates[estimates.length - 1] as OrderEstimate;
  const coverageFactor = studentQuantile(0.975, full.degreesOfFreedom);
  const contact = input.firstContactUncertainty;
  const parts = (centre: number, variance: number, slope: number): IntervalParts => ({
    centre,
    normal: (inflation * Math.sqrt(variance) * coverageFactor) / normalFactor95,
    rectangular: rootThree * Math.abs(slope) * contact,
  });
  const speedInterval = parts(full.speed, full.speedVariance, full.acceleration);
  if (isMotionless(kept, full.residualStandardDeviation, speedInterval)) {
    return { ok: false, reason: 'motionless' };
  }

  let best = estimates[0] as OrderEstimate;
  for (const estimate of estimates) if (estimate.weight > best.weight) best = estimate;
  const hasAcceleration = highest > 1;
  const speedShift = mean.acceleration * contact;
  const accelerationShift = mean.jerk * contact;
  return {
    ok: true,
    speed: mean.speed,
    speedUncertainty: root(mean.speedUncertainty, speedShift),
    speedInterval,
    acceleration: hasAcceleration ? mean.acceleration : null,
    accelerationUncertainty: hasAcceleration ? root(mean.accelerationUncertainty, accelerationShift) : null,
    accelerationInterval: hasAcceleration ? parts(full.acceleration, full.accelerationVariance, full.jerk) : null,
    covariance: hasAcceleration ? mean.covariance + speedShift * accelerationShift : null,
    jerk: mean.jerk,
    degreesOfFreedom: full.degreesOfFreedom,
    coverageFactor,
    window: -(times[start] as number),
    points: fit.points,
    order: best.order,
    residualStandardDeviation: best.residualStandardDeviation,
    lagOneCorrelation: lagOne,
    uncertaintyInflation: inflation,
    outlyingIndices,
    candidates: estimates.map((estimate) => candidateOf(estimate, fit.points, inflation)),
  };
}

/**
 * The 95 % interval of a fitted value, with a further independent normal error (scale, capture rate) in it. It always
 * contains `value`.
 *
 * @param furtherUncertainty standard uncertainty of the further error, unit of the value
 */
export function interval95(
  value: number,
  parts: IntervalParts,
  furtherUncertainty = 0,
): { readonly lower: number; readonly upper: number } {
  const half = halfWidth95(root(parts.normal, furtherUncertainty), parts.rectangular);
  return { lower: Math.min(value, parts.centre - half), upper: Math.max(value, parts.centre + half) };
}

function fitWithoutOutlyingPoints(
  windowTimes: Float64Array,
  windowPositions: Float64Array,
  degree: number,
  start: number,
): { fit: PolynomialFit; kept: Float64Array; outlyingIndices: number[]; roundingSum: number } {
  let largest = 0;
  for (let i = 0; i < windowPositions.length; i += 1) {
    largest = Math.max(largest, Math.abs(windowPositions[i] as number));
  }
  const rounding = 4 * Number.EPSILON * largest;
  const roundingSum = windowPositions.length * rounding * rounding + 1e-300;
  const most = Math.floor(windowTimes.length / 10);
  const taken: number[] = [];
  let times = windowTimes;
  let positions = windowPositions;
  let fit = fitPolynomial(times, positions, degree);
  while (taken.length < most && fit.points > degree + 4) {
    const outlying = outlyingPoint(fit, outlierLevel, roundingSum);
    if (outlying === null) break;
    // The index among all points of the window: count the points taken out before it.
    let index = outlying;
    for (const earlier of taken) if (earlier <= index) index += 1;
    taken.push(index);
    taken.sort((a, b) => a - b);
    times = times.filter((_, i) => i !== outlying);
    positions = positions.filter((_, i) => i !== outlying);
    fit = fitPolynomial(times, positions, degree);
  }
  return { fit, kept: positions, outlyingIndices: taken.map((index) => start + index), roundingSum };
}

/** Whether the positions spread no wider than their noise, or the cue surely moves away from the ball. */
function isMotionless(positions: Float64Array, noise: number, speedInterval: IntervalParts): boolean {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < positions.length; i += 1) {
    least = Math.min(least, positions[i] as number);
    most = Math.max(most, positions[i] as number);
  }
  return most - least <= noiseSpread * noise || interval95(speedInterval.centre, speedInterval).upper < 0;
}

function candidateOf(estimate: OrderEstimate, points: number, inflation: number): OrderCandidate {
  const hasAcceleration = estimate.order > 1;
  return {
    order: estimate.order,
    points,
    cueSpeed: estimate.speed,
    cueSpeedUncertainty: inflation * Math.sqrt(estimate.speedVariance),
    cueAcceleration: hasAcceleration ? estimate.acceleration : null,
    cueAccelerationUncertainty: hasAcceleration ? inflation * Math.sqrt(estimate.accelerationVariance) : null,
    residualStandardDeviation: estimate.residualStandardDeviation,
    aicc: estimate.aicc,
    weight: estimate.weight,
  };
}

function root(a: number, b: number): number {
  return Math.sqrt(a * a + b * b);
}

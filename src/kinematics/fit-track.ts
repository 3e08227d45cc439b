/**
 * Cue speed and acceleration at first contact from the cue track before it.
 *
 * Position is fitted by a polynomial in time over the window before contact and differentiated at first contact,
 * t = 0, which lies at the end of the window or up to one frame beyond.
 *
 * - Window: the last `window` seconds before contact, or the last 8 points (order + 4 for a fixed order 5) when these
 *   are fewer; a track with fewer than that before contact has too few points.
 * - Order: fixed, or the Akaike-weighted average of the candidate orders 2, 3 and 4. Orders 1 to 5 are tabulated.
 * - Outlying points are judged against order 5, whose bias cannot be mistaken for an outlier, and left out (at most a
 *   tenth of them) unless they are only to be reported.
 * - Standard uncertainties: model averaged, inflated for serial correlation, with the effect of the uncertain instant of
 *   contact (acceleration times its standard uncertainty on the speed, jerk times it on the acceleration) and what
 *   window and order change beyond noise.
 * - 95 % intervals: those of the highest candidate order, with Student's t. An interval built from averaged orders covers
 *   too often where the low order holds and too seldom where a higher term is just too small to be seen; no shorter
 *   interval than that of the full order keeps its promise for every stroke (Leeb & Poetscher, Econometric Theory 21, 21
 *   (2005) [from memory]). So the value is the better guess, the interval the safe one, and the value need not be its
 *   middle. tests/studies/track-coverage.ts shows both.
 */
import { studentQuantile } from '../statistics/distributions.ts';
import { averageOrders } from './average-orders.ts';
import { halfWidth95, normalFactor95 } from './coverage.ts';
import { residualsOfOrder } from './fit-polynomial.ts';
import { modelUncertainty, valueOfOrder, windowFactors } from './fit-sensitivity.ts';
import { fitWindow, type WindowFit } from './fit-window.ts';
import type { OrderDiagnosis } from './order-diagnosis.ts';
import { type OrderEstimate, orderEstimates } from './order-estimates.ts';
import { resolvingWindow } from './resolving-window.ts';
import { isCorrelationShown, serialCorrelation } from './serial-correlation.ts';
import type { IntervalParts, OrderCandidate, TrackFit, TrackFitInput, TrackFitResult } from './track-fit.ts';
import { leastPoints, windowStart } from './track-window.ts';

const candidateOrders = [2, 3, 4] as const;
const highestCandidate = candidateOrders[2];
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
  for (let i = 1; i < end; i += 1) {
    if (!((times[i] as number) > (times[i - 1] as number))) throw new RangeError('times must increase');
  }

  const orders = order === null ? candidateOrders : [order];
  const highest = orders[orders.length - 1] as number;
  const leaveOut = input.outlyingPoints !== 'report';
  const main = fitWindow(times, positions, start, end, leaveOut, true);
  const { fit } = main;
  const estimates = orderEstimates(fit, orders, 0, main.roundingSum);
  const full = estimates[estimates.length - 1] as OrderEstimate;
  const serial = serialCorrelation(residualsOfOrder(fit, highest), highest + 1);
  const { inflation } = serial;
  const coverageFactor = studentQuantile(0.975, serial.degreesOfFreedom);
  const hasAcceleration = highest > 1;

  const windows = windowFactors.map((factor) => {
    const from = factor === 1 ? start : windowStart(times, end, factor * input.window, least);
    if (factor !== 1 && (from === null || from === start)) return null;
    return factor === 1 ? main : fitWindow(times, positions, from as number, end, leaveOut, false);
  });
  const ownValue = valueOfOrder(main.orders, highest);
  // Noise for these tests comes from the highest order, whose residuals hold no bias that would excuse itself.
  const free = serialCorrelation(fit.residuals, fit.degree + 1);
  const freeNoise = (main.orders[fit.degree - 1] as OrderDiagnosis).residualStandardDeviation * free.inflation;
  const freeFactor = studentQuantile(0.975, free.degreesOfFreedom);
  const model =
    ownValue === null
      ? null
      : modelUncertainty(
          ownValue,
          [
            ...windows.map((each) => (each === null || each === main ? null : valueOfOrder(each.orders, highest))),
            valueOfOrder(main.orders, highest + 1),
          ],
          freeNoise,
          freeFactor,
          hasAcceleration,
        );
  const modelSpeed = model?.speed ?? 0;
  const modelAcceleration = model?.acceleration ?? 0;

  const contact = input.firstContactUncertainty;
  const contactIsRectangular = input.firstContactShape !== 'normal';
  const parts = (centre: number, variance: number, slope: number, modelChange: number): IntervalParts => {
    const scatter = (inflation * Math.sqrt(variance) * coverageFactor) / normalFactor95;
    const shift = slope * contact;
    return {
      centre,
      normal: contactIsRectangular ? scatter : root(scatter, shift),
      rectangular: rootThree * root(contactIsRectangular ? shift : 0, modelChange),
    };
  };
  const speedInterval = parts(full.speed, full.speedVariance, full.acceleration, modelSpeed);
  if (isMotionless(main.positions, full.residualStandardDeviation, speedInterval)) {
    return { ok: false, reason: 'motionless' };
  }

  const mean = averageOrders(estimates, inflation);
  let best = estimates[0] as OrderEstimate;
  for (const estimate of estimates) if (estimate.weight > best.weight) best = estimate;
  const speedShift = mean.acceleration * contact;
  const accelerationShift = mean.jerk * contact;
  const fixed = {
    speed: root(speedShift, modelSpeed),
    acceleration: root(accelerationShift, modelAcceleration),
  };
  return {
    ok: true,
    speed: mean.speed,
    speedUncertainty: root(mean.speedUncertainty, fixed.speed),
    speedInterval,
    acceleration: hasAcceleration ? mean.acceleration : null,
    accelerationUncertainty: hasAcceleration ? root(mean.accelerationUncertainty, fixed.acceleration) : null,
    accelerationInterval: hasAcceleration
      ? parts(full.acceleration, full.accelerationVariance, full.jerk, modelAcceleration)
      : null,
    covariance: hasAcceleration
      ? mean.covariance + speedShift * accelerationShift + modelSpeed * modelAcceleration
      : null,
    jerk: mean.jerk,
    degreesOfFreedom: serial.degreesOfFreedom,
    coverageFactor,
    window: main.length,
    points: fit.points,
    order: best.order,
    residualStandardDeviation: best.residualStandardDeviation,
    lagOneCorrelation: serial.lagOne,
    durbinWatson: serial.durbinWatson,
    autoregression: serial.autoregression,
    seriallyCorrelated: serial.significant,
    uncertaintyInflation: inflation,
    intervalsAssured: highest >= highestCandidate && isCorrelationShown(fit.points, highest + 1, serial.autoregression),
    outlyingIndices: main.outlyingIndices,
    candidates: estimates.map((estimate) => candidateOf(estimate, fit.points, inflation)),
    orders: main.orders,
    sensitivity: sensitivityRows(windows),
    model: {
      exceedsNoise: model?.exceedsNoise ?? false,
      speedUncertainty: Math.abs(modelSpeed),
      accelerationUncertainty: Math.abs(modelAcceleration),
    },
    resolvingWindow: hasAcceleration
      ? resolvingWindow(mean.acceleration, mean.accelerationUncertainty, main.length)
      : null,
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

function sensitivityRows(windows: readonly (WindowFit | null)[]): TrackFit['sensitivity'] {
  return windows.flatMap((each) =>
    each === null
      ? []
      : each.orders
          .filter((row) => isSensitivityOrder(row))
          .map(({ order, speed, acceleration }) => ({
            window: each.length,
            points: each.fit.points,
            order,
            cueSpeed: speed,
            cueAcceleration: acceleration,
          })),
  );
}

function isSensitivityOrder({ order }: OrderDiagnosis): boolean {
  return order >= 2 && order <= 4;
}

function root(a: number, b: number): number {
  return Math.sqrt(a * a + b * b);
}

/**
 * How speed and acceleration depend on choices that the track does not settle: the length of the window (three
 * quarters, all, five quarters of it) and the order of the polynomial (2 to 4).
 *
 * A shorter window gives another value by chance alone. Least squares being efficient, the estimate of the longer window
 * is uncorrelated with the difference, so for nested windows (and for nested orders) the variance of the difference is
 * the difference of the variances (Hausman, Econometrica 46, 1251 (1978) [from memory]). A change within 1.75 times the
 * 95 % band of that is noise, which the uncertainty of the fit holds already; counting it again would make the intervals
 * too wide wherever the polynomial follows the stroke. A change beyond it (about 1 track in 1600 by chance, for each of
 * the three tests) shows that the polynomial does not follow the stroke: then the largest such change counts whole, as a
 * standard uncertainty (rectangular, half-width sqrt 3 times it, because to first order the change to the next order is
 * the whole bias and the truth lies at its end), and the shot is flagged.
 *
 * Tested are both other windows at the order that gives the intervals, and the next higher order at the present window,
 * with the noise of the highest order: residuals of a low order hold the very bias that is looked for.
 */
import type { OrderDiagnosis } from './order-diagnosis.ts';

export const windowFactors = [0.75, 1, 1.25] as const;

/** In 95 % half-widths. */
const noiseBand = 1.75;

/** What one window gives at one order. */
export interface OrderValue {
  /** Of the residuals, m. */
  readonly speed: number;
  readonly acceleration: number;
  /** Variance over that of one observation: 1/s2 and 1/s4. */
  readonly speedFactor: number;
  readonly accelerationFactor: number;
}

export interface ModelUncertainty {
  /** Whether a change exceeds what noise explains. */
  readonly exceedsNoise: boolean;
  /** Standard uncertainties, m/s and m/s2; with sign, so that their product is their covariance. */
  readonly speed: number;
  readonly acceleration: number;
}

/** Value of one order, or null when the window is too short for it. */
export function valueOfOrder(orders: readonly OrderDiagnosis[], order: number): OrderValue | null {
  const row = orders.find((candidate) => candidate.order === order);
  if (row === undefined || row.degreesOfFreedom < 1) return null;
  const variance = row.residualStandardDeviation * row.residualStandardDeviation;
  return {
    speed: row.speed,
    acceleration: row.acceleration,
    speedFactor: (row.speedUncertainty * row.speedUncertainty) / variance,
    accelerationFactor: (row.accelerationUncertainty * row.accelerationUncertainty) / variance,
  };
}

/**
 * @param main value of the window and order that give the intervals; `others` the values it is compared with
 * @param noise standard deviation of one observation, inflated for serial correlation, m
 * @param coverageFactor Student's t of 0.975
 * @param hasAcceleration false at order 1, where only the speed is judged
 */
export function modelUncertainty(
  main: OrderValue,
  others: readonly (OrderValue | null)[],
  noise: number,
  coverageFactor: number,
  hasAcceleration: boolean,
): ModelUncertainty {
  const limit = noiseBand * coverageFactor;
  let largest = 0;
  let found: ModelUncertainty = { exceedsNoise: false, speed: 0, acceleration: 0 };
  for (const other of others) {
    if (other === null) continue;
    const speed = other.speed - main.speed;
    const acceleration = hasAcceleration ? other.acceleration - main.acceleration : 0;
    const speedSize = inDeviations(speed, other.speedFactor - main.speedFactor, noise);
    const accelerationSize = inDeviations(acceleration, other.accelerationFactor - main.accelerationFactor, noise);
    if (Math.max(speedSize, hasAcceleration ? accelerationSize : 0) <= limit) continue;
    // Of the changes that are real the one that matters most beside the uncertainty of the value itself.
    const size = inDeviations(speed, main.speedFactor, noise);
    if (size > largest) {
      largest = size;
      found = { exceedsNoise: true, speed, acceleration };
    }
  }
  return found;
}

function inDeviations(change: number, factor: number, noise: number): number {
  const deviation = noise * Math.sqrt(Math.abs(factor));
  return deviation > 0 ? Math.abs(change) / deviation : 0;
}

/**
 * Speed, acceleration and jerk at the abscissa of first contact under every candidate order of one fit. In an
 * orthogonal basis the lower orders are the leading terms of the highest, so one fit serves all.
 */
import { aicc, akaikeWeights } from './akaike.ts';
import type { PolynomialFit } from './fit-polynomial.ts';
import { basisDerivatives } from './orthogonal-basis.ts';

export interface OrderEstimate {
  readonly order: number;
  readonly degreesOfFreedom: number;
  readonly speed: number;
  readonly acceleration: number;
  readonly jerk: number;
  /** Variances and covariance of speed and acceleration from the scatter of the points, white noise. */
  readonly speedVariance: number;
  readonly accelerationVariance: number;
  readonly covariance: number;
  readonly residualStandardDeviation: number;
  readonly aicc: number;
  readonly weight: number;
}

/**
 * @param orders candidate orders, increasing, none above the degree of the fit
 * @param time abscissa of first contact, s
 * @param roundingSum sum of squares that rounding alone can leave: residual sums below it count as it, so that a
 *   track without noise has a finite criterion and the simplest order that describes it
 */
export function orderEstimates(
  fit: PolynomialFit,
  orders: readonly number[],
  time: number,
  roundingSum: number,
): OrderEstimate[] {
  const table = basisDerivatives(fit.basis, (time - fit.centre) / fit.halfWidth, 3);
  const width = fit.degree + 1;
  const first = 1 / fit.halfWidth;
  const second = first * first;
  const third = second * first;
  const sums = orders.map((order) => Math.max(fit.residualSumsOfSquares[order] as number, roundingSum));
  const criteria = orders.map((order, index) => aicc(fit.points, order, sums[index] as number));
  const weights = akaikeWeights(criteria);
  return orders.map((order, index) => {
    let speed = 0;
    let acceleration = 0;
    let jerk = 0;
    let speedVariance = 0;
    let accelerationVariance = 0;
    let covariance = 0;
    for (let k = order; k >= 0; k -= 1) {
      const coefficient = fit.coefficients[k] as number;
      const slope = (table[width + k] as number) * first;
      const curvature = (table[2 * width + k] as number) * second;
      const norm = fit.basis.squaredNorm[k] as number;
      speed += coefficient * slope;
      acceleration += coefficient * curvature;
      jerk += coefficient * (table[3 * width + k] as number) * third;
      speedVariance += (slope * slope) / norm;
      accelerationVariance += (curvature * curvature) / norm;
      covariance += (slope * curvature) / norm;
    }
    const degreesOfFreedom = fit.points - order - 1;
    const variance = (sums[index] as number) / degreesOfFreedom;
    return {
      order,
      degreesOfFreedom,
      speed,
      acceleration,
      jerk,
      speedVariance: speedVariance * variance,
      accelerationVariance: accelerationVariance * variance,
      covariance: covariance * variance,
      residualStandardDeviation: Math.sqrt(variance),
      aicc: criteria[index] as number,
      weight: weights[index] as number,
    };
  });
}

/**
 * Model-averaged speed and acceleration over candidate orders.
 *
 *   mean = sum w_q v_q,   u = sum w_q sqrt(se_q^2 + (v_q - mean)^2)
 *
 * Source: Burnham & Anderson, Model Selection and Multimodel Inference, 2nd ed. (2002), 4.3 [from memory].
 * The correlation of speed and acceleration is that of the mixture, sum w_q [cov_q + (v_q - v)(a_q - a)] over the
 * matching second moments, so the covariance matrix stays positive.
 */
import type { OrderEstimate } from './order-estimates.ts';

export interface AveragedOrders {
  readonly speed: number;
  readonly acceleration: number;
  readonly jerk: number;
  readonly speedUncertainty: number;
  readonly accelerationUncertainty: number;
  readonly covariance: number;
}

/** @param inflation factor on the standard uncertainty of every order */
export function averageOrders(estimates: readonly OrderEstimate[], inflation: number): AveragedOrders {
  let speed = 0;
  let acceleration = 0;
  let jerk = 0;
  for (const estimate of estimates) {
    speed += estimate.weight * estimate.speed;
    acceleration += estimate.weight * estimate.acceleration;
    jerk += estimate.weight * estimate.jerk;
  }
  const squaredInflation = inflation * inflation;
  let speedUncertainty = 0;
  let accelerationUncertainty = 0;
  let speedMoment = 0;
  let accelerationMoment = 0;
  let mixedMoment = 0;
  for (const estimate of estimates) {
    const { weight } = estimate;
    const speedGap = estimate.speed - speed;
    const accelerationGap = estimate.acceleration - acceleration;
    const speedSquare = squaredInflation * estimate.speedVariance + speedGap * speedGap;
    const accelerationSquare = squaredInflation * estimate.accelerationVariance + accelerationGap * accelerationGap;
    speedUncertainty += weight * Math.sqrt(speedSquare);
    accelerationUncertainty += weight * Math.sqrt(accelerationSquare);
    speedMoment += weight * speedSquare;
    accelerationMoment += weight * accelerationSquare;
    mixedMoment += weight * (squaredInflation * estimate.covariance + speedGap * accelerationGap);
  }
  const moments = Math.sqrt(speedMoment * accelerationMoment);
  const covariance = moments > 0 ? (mixedMoment / moments) * speedUncertainty * accelerationUncertainty : 0;
  return { speed, acceleration, jerk, speedUncertainty, accelerationUncertainty, covariance };
}

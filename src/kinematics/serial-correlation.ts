/**
 * Serial correlation of the residuals of a track: compression and pixel locking tie neighbouring frames together, and
 * least squares then states too small an uncertainty.
 *
 * The method is named "first-order autoregression by moments, fit accounted": the noise is taken as
 * e_i = phi e_(i-1) + white noise, and phi is the value that explains the lag-one correlation r of the residuals once
 * the fit has taken its share. A smooth basis of m coefficients takes m (1 + phi) / (1 - phi) = m kappa degrees of
 * freedom from such noise instead of m, so that with n points
 *
 *   r = [(n - 1) phi - m kappa] / (n - m kappa)                    solved for phi by bisection
 *   inflation = sqrt( kappa (n - m) / (n - m kappa) )              on the standard uncertainties of a smooth function
 *   degrees of freedom = (n - m kappa) (1 - phi^2) / (1 + phi^2)
 *
 * kappa is the variance ratio for the mean of a first-order autoregressive series; the accounting for the fit is derived
 * here and held to the truth by tests/studies/track-coverage.ts. Taking r for phi instead, as the bare ratio
 * sqrt((1 + r) / (1 - r)) does, covers 78 to 90 % where 95 are claimed.
 *
 * Durbin-Watson: d = sum (e_i - e_(i-1))^2 / sum e_i^2, about 2 (1 - r); Durbin & Watson, Biometrika 37, 409 (1950)
 * [from memory].
 */

export interface SerialCorrelation {
  /** Correlation of each residual with the next. */
  readonly lagOne: number;
  readonly durbinWatson: number;
  /** Estimated phi of the noise, 0 when the residuals do not ask for more. */
  readonly autoregression: number;
  /** Whether lag-one correlation exceeds what white noise leaves after the fit by two of its standard deviations. */
  readonly significant: boolean;
  /** Factor on the standard uncertainties of the fit; 1 when nothing is to be corrected. */
  readonly inflation: number;
  /** Of the residual variance under this noise. */
  readonly degreesOfFreedom: number;
}

/** From so many points for each coefficient on, phi is known well enough to be used without asking for significance. */
const pointsForUntested = 16;
/** Fewest independent points for each coefficient with which the correction holds what it promises. */
const leastIndependent = 8;
/** At least this share of the degrees of freedom is left: beyond, the window holds no independent information. */
const leastShareLeft = 0.25;
const leastDegrees = 1.5;

/** @param residuals in the order of time; `coefficients` the number of them that the fit estimated, fewer than points */
export function serialCorrelation(residuals: Float64Array, coefficients: number): SerialCorrelation {
  const points = residuals.length;
  let products = 0;
  let steps = 0;
  let squares = 0;
  for (let i = 0; i < points; i += 1) {
    const residual = residuals[i] as number;
    squares += residual * residual;
    if (i > 0) {
      const before = residuals[i - 1] as number;
      products += residual * before;
      steps += (residual - before) * (residual - before);
    }
  }
  const white = points - coefficients;
  if (!(squares > 0)) {
    return {
      lagOne: 0,
      durbinWatson: 2,
      autoregression: 0,
      significant: false,
      inflation: 1,
      degreesOfFreedom: white,
    };
  }
  const lagOne = products / squares;
  const durbinWatson = steps / squares;
  const significant = lagOne - expectedLagOne(0, points, coefficients) > 2 / Math.sqrt(points);
  const used = significant || points >= pointsForUntested * coefficients;
  const autoregression = used ? solveAutoregression(lagOne, points, coefficients) : 0;
  if (autoregression === 0) {
    return { lagOne, durbinWatson, autoregression, significant, inflation: 1, degreesOfFreedom: white };
  }
  const kappa = (1 + autoregression) / (1 - autoregression);
  const left = points - coefficients * kappa;
  const squared = autoregression * autoregression;
  return {
    lagOne,
    durbinWatson,
    autoregression,
    significant,
    inflation: Math.sqrt((kappa * white) / left),
    degreesOfFreedom: Math.max(leastDegrees, (left * (1 - squared)) / (1 + squared)),
  };
}

/**
 * Whether the uncertainties hold with noise of this autoregression: with fewer points correlation mostly goes unseen, with
 * fewer independent ones its correction is too coarse (tests/studies/track-coverage.md).
 */
export function isCorrelationShown(points: number, coefficients: number, autoregression: number): boolean {
  const kappa = (1 + autoregression) / (1 - autoregression);
  return points >= coefficients * Math.max(pointsForUntested, leastIndependent * kappa);
}

function expectedLagOne(phi: number, points: number, coefficients: number): number {
  const taken = (coefficients * (1 + phi)) / (1 - phi);
  return ((points - 1) * phi - taken) / (points - taken);
}

/** The phi >= 0 that explains r; limited so that the fit leaves a quarter of the points as degrees of freedom. */
function solveAutoregression(lagOne: number, points: number, coefficients: number): number {
  const largestKappa = ((1 - leastShareLeft) * points) / coefficients;
  let high = Math.max(0, (largestKappa - 1) / (largestKappa + 1));
  if (lagOne <= expectedLagOne(0, points, coefficients)) return 0;
  if (lagOne >= expectedLagOne(high, points, coefficients)) return high;
  let low = 0;
  for (let step = 0; step < 50; step += 1) {
    const middle = (low + high) / 2;
    if (expectedLagOne(middle, points, coefficients) < lagOne) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

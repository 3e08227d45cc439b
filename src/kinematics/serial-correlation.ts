/** Serial correlation of the residuals of a track: compression and pixel locking tie neighbouring frames together. */

export interface SerialCorrelation {
  /** Correlation of each residual with the next. */
  readonly lagOne: number;
  /** Factor on the standard uncertainties of the fit; 1 when the correlation is not significant. */
  readonly inflation: number;
}

/** Beyond this the window holds no independent information to speak of, and the factor would run away. */
const largestCorrelation = 0.95;

/**
 * r = sum e_i e_(i+1) / sum e_i^2. Beyond 2 / sqrt(n) the uncertainties are inflated by sqrt((1 + r) / (1 - r)), the
 * ratio for the mean of a first-order autoregressive series. Negative correlation never narrows an interval.
 */
export function serialCorrelation(residuals: Float64Array): SerialCorrelation {
  let products = 0;
  let squares = 0;
  for (let i = 0; i < residuals.length; i += 1) {
    const residual = residuals[i] as number;
    squares += residual * residual;
    if (i > 0) products += residual * (residuals[i - 1] as number);
  }
  const lagOne = squares > 0 ? products / squares : 0;
  if (!(lagOne > 2 / Math.sqrt(residuals.length))) return { lagOne, inflation: 1 };
  const limited = Math.min(lagOne, largestCorrelation);
  return { lagOne, inflation: Math.sqrt((1 + limited) / (1 - limited)) };
}

/**
 * Straight line through points that err in both coordinates, each with its own uncertainties and their covariance
 * (York, Evensen, Lopez Martinez & De Basabe Delgado 2004, Am. J. Phys. 72:367, equations 13 and 14).
 *
 * With weights w = 1 / u^2 and the correlation r of the two errors of a point, alpha = sqrt(w_x w_y),
 * W = w_x w_y / (w_x + b^2 w_y - 2 b r alpha), means weighted by W, U = x - xbar, V = y - ybar,
 * beta = W (U / w_y + b V / w_x - (b U + V) r / alpha):   b = sum W beta V / sum W beta U,   a = ybar - b xbar.
 */

export interface YorkPoints {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Standard uncertainties, above 0. */
  readonly xError: Float64Array;
  readonly yError: Float64Array;
  /** Error covariance of the two coordinates of each point; null for independent errors. */
  readonly covariance: Float64Array | null;
}

export interface YorkLine {
  readonly intercept: number;
  readonly slope: number;
  /** Standard errors when the stated uncertainties are all there is. */
  readonly interceptError: number;
  readonly slopeError: number;
  /** sum W (y - b x - a)^2 / (n - 2). */
  readonly reducedChiSquare: number;
  readonly iterations: number;
}

const mostIterations = 200;
const smallestChange = 1e-15;

/**
 * @param start slope to begin with, such as that of least squares
 * @returns null below three points, or when the iteration does not settle
 */
export function yorkLine(points: YorkPoints, start: number): YorkLine | null {
  const count = points.x.length;
  if (count < 3) return null;
  let slope = start;
  for (let iteration = 1; iteration <= mostIterations; iteration += 1) {
    const sums = weightedSums(points, slope);
    const next = sums.betaY / sums.betaX;
    if (!Number.isFinite(next)) return null;
    const settled = Math.abs(next - slope) <= smallestChange * Math.abs(next);
    slope = next;
    if (settled || iteration === mostIterations) {
      const done = weightedSums(points, slope);
      // In the last digits the slope may alternate; a change that is more than rounding has not settled.
      if (Math.abs(done.betaY / done.betaX - slope) > 1e-12 * Math.abs(slope)) return null;
      return finish(points, slope, iteration);
    }
  }
  return null;
}

function weightOf(points: YorkPoints, at: number, slope: number) {
  const xVariance = (points.xError[at] as number) * (points.xError[at] as number);
  const yVariance = (points.yError[at] as number) * (points.yError[at] as number);
  const shared = points.covariance === null ? 0 : (points.covariance[at] as number);
  // 1 / W = u_y^2 + b^2 u_x^2 - 2 b cov.
  return { weight: 1 / (yVariance + slope * slope * xVariance - 2 * slope * shared), xVariance, yVariance, shared };
}

/** Means, and the sums of W beta V and W beta U. */
function weightedSums(points: YorkPoints, slope: number) {
  const { x, y } = points;
  const [firstX, firstY] = [x[0] as number, y[0] as number];
  let total = 0;
  let sumX = 0;
  let sumY = 0;
  for (let at = 0; at < x.length; at += 1) {
    const { weight } = weightOf(points, at, slope);
    total += weight;
    sumX += weight * ((x[at] as number) - firstX);
    sumY += weight * ((y[at] as number) - firstY);
  }
  const [meanX, meanY] = [firstX + sumX / total, firstY + sumY / total];
  let betaY = 0;
  let betaX = 0;
  for (let at = 0; at < x.length; at += 1) {
    const { weight, beta } = betaOf(points, at, slope, meanX, meanY);
    betaY += weight * beta * ((y[at] as number) - meanY);
    betaX += weight * beta * ((x[at] as number) - meanX);
  }
  return { total, meanX, meanY, betaY, betaX };
}

/** Adjusted abscissa of a point, from the weighted mean; r / alpha is the error covariance. */
function betaOf(points: YorkPoints, at: number, slope: number, meanX: number, meanY: number) {
  const { weight, xVariance, yVariance, shared } = weightOf(points, at, slope);
  const u = (points.x[at] as number) - meanX;
  const v = (points.y[at] as number) - meanY;
  return { weight, beta: weight * (u * yVariance + slope * v * xVariance - (slope * u + v) * shared) };
}

function finish(points: YorkPoints, slope: number, iterations: number): YorkLine {
  const { total, meanX, meanY } = weightedSums(points, slope);
  const count = points.x.length;
  const intercept = meanY - slope * meanX;
  let meanBeta = 0;
  let chiSquare = 0;
  for (let at = 0; at < count; at += 1) {
    const { weight, beta } = betaOf(points, at, slope, meanX, meanY);
    meanBeta += weight * beta;
    const rest = (points.y[at] as number) - meanY - slope * ((points.x[at] as number) - meanX);
    chiSquare += weight * rest * rest;
  }
  meanBeta /= total;
  let spread = 0;
  for (let at = 0; at < count; at += 1) {
    const { weight, beta } = betaOf(points, at, slope, meanX, meanY);
    spread += weight * (beta - meanBeta) * (beta - meanBeta);
  }
  const slopeVariance = 1 / spread;
  const adjusted = meanX + meanBeta;
  return {
    intercept,
    slope,
    slopeError: Math.sqrt(slopeVariance),
    interceptError: Math.sqrt(1 / total + adjusted * adjusted * slopeVariance),
    reducedChiSquare: chiSquare / (count - 2),
    iterations,
  };
}

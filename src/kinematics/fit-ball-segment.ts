/**
 * Fit of one stretch of ball motion: the candidate forms (one phase or two, coming to rest or not) by non-linear least
 * squares (Levenberg and Marquardt, from a grid of break times), the best by AICc among those that are physically
 * possible.
 */
import { aicc } from './akaike.ts';
import { evaluateSegment, parameterCount, type SegmentForm, type SegmentPoint, segmentPoint } from './ball-segment.ts';
import { addRow, inverseNormal, normalEquations, solveStep } from './normal-equations.ts';
import { serialCorrelation } from './serial-correlation.ts';

export interface BallSegment {
  readonly form: SegmentForm;
  readonly parameters: Float64Array;
  /** Covariance of the parameters, widened for serial correlation. */
  readonly covariance: Float64Array;
  /** Mapped time u = (t - centre) / halfWidth, s. */
  readonly centre: number;
  readonly halfWidth: number;
  readonly points: number;
  readonly degrees: number;
  readonly residualSumOfSquares: number;
  readonly residualStandardDeviation: number;
  readonly lagOneCorrelation: number;
  readonly uncertaintyInflation: number;
}

/** Accelerations that a cloth can give a ball, m/s2: sliding friction 0.02 to 1, rolling 0.0005 to 0.1 of gravity. */
const possible = { leastSlide: 0.2, mostSlide: 9.8, leastRoll: 0.005, mostRoll: 0.98 } as const;
/** Most points of the grid search; more are thinned there, not in the fit. */
const gridPoints = 150;
const gridSteps = 16;
const mostIterations = 60;

const oneMoving: SegmentForm = { rest: false, broken: false };
const twoMoving: SegmentForm = { rest: false, broken: true };
const oneResting: SegmentForm = { rest: true, broken: false };
const twoResting: SegmentForm = { rest: true, broken: true };

/**
 * Fits points (t in s, increasing; x in m).
 *
 * @param noise rough standard deviation of a position, m: what exact data are taken to be good for
 * @returns null with fewer than four points, or when no form fits
 */
export function fitBallSegment(times: Float64Array, positions: Float64Array, noise: number): BallSegment | null {
  const points = times.length;
  if (points < 4) return null;
  const first = times[0] as number;
  const last = times[points - 1] as number;
  const centre = first + (last - first) / 2;
  const halfWidth = (last - first) / 2;
  if (!(halfWidth > 0)) return null;
  const mapped = times.map((time) => (time - centre) / halfWidth);
  const floor = points * noise * noise * 1e-6 + 1e-30;

  let best: { form: SegmentForm; fitted: Fitted; criterion: number } | null = null;
  for (const form of [oneMoving, twoMoving, oneResting, twoResting]) {
    const size = parameterCount(form);
    if (points < size + 3 && form !== oneMoving) continue;
    const fitted = fitForm(form, mapped, positions, halfWidth);
    if (fitted === null || !isPossible(form, fitted.parameters, mapped, halfWidth)) continue;
    const criterion = points > size + 2 ? aicc(points, size - 1, Math.max(fitted.sum, floor)) : Number.MAX_VALUE;
    if (best === null || criterion < best.criterion) best = { form, fitted, criterion };
  }
  return best === null ? null : finish(best.form, best.fitted, mapped, positions, centre, halfWidth);
}

interface Fitted {
  readonly parameters: Float64Array;
  readonly sum: number;
}

function fitForm(form: SegmentForm, u: Float64Array, x: Float64Array, halfWidth: number): Fitted | null {
  const start = startOf(form, u, x, halfWidth);
  if (start === null) return null;
  if (!form.rest && !form.broken) return { parameters: start, sum: sumOfSquares(form, start, u, x) };
  return descend(form, start, u, x);
}

/** Best possible one of a grid of break times, the other parameters by linear least squares on thinned points. */
function startOf(form: SegmentForm, u: Float64Array, x: Float64Array, halfWidth: number): Float64Array | null {
  if (!form.rest && !form.broken) return linear(form, u, x, 0, 0)?.parameters ?? null;
  const stride = Math.max(1, Math.floor(u.length / gridPoints));
  const few = (_: number, i: number) => i % stride === 0;
  const thinU = u.filter(few);
  const thinX = x.filter(few);
  let best: Fitted | null = null;
  for (let rest = form.rest ? 1 : gridSteps; rest <= gridSteps; rest += 1) {
    const restAt = -1 + (2 * (rest - 0.5)) / gridSteps;
    for (let bend = form.broken ? 1 : gridSteps; bend <= gridSteps; bend += 1) {
      // Denser at the start: sliding is short beside rolling.
      const share = (bend - 0.5) / gridSteps;
      const bendAt = -1 + (form.rest ? (restAt + 1) * share * share : 2 * share);
      const found = linear(form, thinU, thinX, restAt, bendAt);
      if (found !== null && isPossible(form, found.parameters, u, halfWidth) && (best === null || found.sum < best.sum))
        best = found;
    }
  }
  return best?.parameters ?? null;
}

/** Linear least squares at given break times. */
function linear(form: SegmentForm, u: Float64Array, x: Float64Array, restAt: number, bendAt: number): Fitted | null {
  const size = 1 + (form.rest ? 0 : 1) + 1 + (form.broken ? 1 : 0);
  const equations = normalEquations(size);
  const row = new Float64Array(size);
  const fill = (at: number) => {
    let k = 0;
    row[k++] = 1;
    if (!form.rest) row[k++] = at;
    const left = Math.max(0, restAt - at);
    row[k++] = form.rest ? left * left : at * at;
    const bend = Math.max(0, bendAt - at);
    if (form.broken) row[k] = bend * bend;
  };
  const origin = x[0] as number;
  for (let i = 0; i < u.length; i += 1) {
    fill(u[i] as number);
    addRow(equations, row, (x[i] as number) - origin);
  }
  const solution = solveStep(equations, 0);
  if (solution === null) return null;
  let sum = 0;
  for (let i = 0; i < u.length; i += 1) {
    fill(u[i] as number);
    let residual = (x[i] as number) - origin;
    for (let k = 0; k < size; k += 1) residual -= (row[k] as number) * (solution[k] as number);
    sum += residual * residual;
  }
  const [constant = 0, ...others] = solution;
  const tail = form.rest ? [restAt, ...others] : others;
  return { parameters: Float64Array.from([constant + origin, ...tail, ...(form.broken ? [bendAt] : [])]), sum };
}

function sumOfSquares(form: SegmentForm, parameters: Float64Array, u: Float64Array, x: Float64Array): number {
  const point = segmentPoint(form);
  let sum = 0;
  for (let i = 0; i < u.length; i += 1) {
    evaluateSegment(form, parameters, u[i] as number, point);
    const residual = (x[i] as number) - point.value;
    sum += residual * residual;
  }
  return sum;
}

function descend(form: SegmentForm, start: Float64Array, u: Float64Array, x: Float64Array): Fitted | null {
  const point = segmentPoint(form);
  let parameters = start;
  let sum = sumOfSquares(form, parameters, u, x);
  let damping = 1e-3;
  for (let iteration = 0; iteration < mostIterations; iteration += 1) {
    const equations = normalEquations(parameters.length);
    for (let i = 0; i < u.length; i += 1) {
      evaluateSegment(form, parameters, u[i] as number, point);
      addRow(equations, point.valueGradient, (x[i] as number) - point.value);
    }
    let improved = false;
    for (let attempt = 0; attempt < 8 && !improved; attempt += 1) {
      const step = solveStep(equations, damping);
      if (step === null) return null;
      const next = parameters.map((value, i) => value + (step[i] as number));
      const nextSum = breaksWithin(form, next, u) ? sumOfSquares(form, next, u, x) : Number.POSITIVE_INFINITY;
      if (nextSum < sum) {
        const settled = sum - nextSum <= 1e-10 * sum;
        parameters = next;
        sum = nextSum;
        damping = Math.max(1e-9, damping / 10);
        improved = true;
        if (settled) return { parameters, sum };
      } else damping *= 10;
    }
    if (!improved) break;
  }
  return { parameters, sum };
}

/** A break among the first or last points would leave a parameter without any. */
function breaksWithin(form: SegmentForm, parameters: Float64Array, u: Float64Array): boolean {
  const least = u[1] as number;
  const most = u[u.length - 2] as number;
  const inside = (value: number) => value > least && value < most;
  return (!form.rest || inside(parameters[1] as number)) && (!form.broken || inside(parameters[4] as number));
}

/** Breaks inside the points, with points on both sides, and accelerations that friction can give. */
function isPossible(form: SegmentForm, parameters: Float64Array, u: Float64Array, halfWidth: number): boolean {
  for (const value of parameters) if (!Number.isFinite(value)) return false;
  if (!breaksWithin(form, parameters, u)) return false;
  const roll = (2 * (parameters[2] as number)) / (halfWidth * halfWidth);
  const restAt = form.rest ? (parameters[1] as number) : 1;
  if (!form.broken) return Math.abs(roll) <= possible.mostSlide;
  const bendAt = parameters[4] as number;
  const slide = roll + (2 * (parameters[3] as number)) / (halfWidth * halfWidth);
  return (
    bendAt <= restAt &&
    Math.abs(slide) >= possible.leastSlide &&
    Math.abs(slide) <= possible.mostSlide &&
    Math.abs(roll) <= possible.mostRoll &&
    Math.abs(roll) < Math.abs(slide) / 2 &&
    (!form.rest || Math.abs(roll) >= possible.leastRoll)
  );
}

function finish(
  form: SegmentForm,
  { parameters, sum }: Fitted,
  u: Float64Array,
  x: Float64Array,
  centre: number,
  halfWidth: number,
): BallSegment | null {
  const points = u.length;
  const degrees = points - parameters.length;
  const point = segmentPoint(form);
  const equations = normalEquations(parameters.length);
  const residuals = new Float64Array(points);
  for (let i = 0; i < points; i += 1) {
    evaluateSegment(form, parameters, u[i] as number, point);
    residuals[i] = (x[i] as number) - point.value;
    addRow(equations, point.valueGradient, residuals[i] as number);
  }
  const inverse = inverseNormal(equations);
  if (inverse === null) return null;
  const { lagOne, inflation, degreesOfFreedom } = serialCorrelation(residuals, parameters.length);
  const variance = (sum / degrees) * inflation * inflation;
  return {
    form,
    parameters,
    covariance: inverse.map((entry) => entry * variance),
    centre,
    halfWidth,
    points,
    degrees: degreesOfFreedom,
    residualSumOfSquares: sum,
    residualStandardDeviation: Math.sqrt(sum / degrees),
    lagOneCorrelation: lagOne,
    uncertaintyInflation: inflation,
  };
}

/** Position (m), speed (m/s) and acceleration (m/s2) of a fitted stretch at t s, with gradients by its parameters. */
export function segmentAt(segment: BallSegment, time: number): SegmentPoint {
  const { form, parameters, centre, halfWidth } = segment;
  const point = segmentPoint(form);
  evaluateSegment(form, parameters, (time - centre) / halfWidth, point);
  point.slope /= halfWidth;
  point.curvature /= halfWidth * halfWidth;
  for (let k = 0; k < parameters.length; k += 1) {
    point.slopeGradient[k] = (point.slopeGradient[k] as number) / halfWidth;
  }
  return point;
}

/** Variance of a combination of the parameters, g' C g. */
export function combinationVariance({ covariance }: BallSegment, gradient: Float64Array): number {
  const size = gradient.length;
  let sum = 0;
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1) {
      sum += (gradient[i] as number) * (covariance[i * size + j] as number) * (gradient[j] as number);
    }
  }
  return Math.max(0, sum);
}

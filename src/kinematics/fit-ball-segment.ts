/**
 * Fit of one stretch of ball motion: the candidate forms (one phase or two, coming to rest or not) by non-linear least
 * squares (Levenberg and Marquardt, from a grid of break times), the best by AICc among those that are physically
 * possible.
 */
import { aicc } from './akaike.ts';
import { evaluateSegment, parameterCount, type SegmentForm, type SegmentPoint, segmentPoint } from './ball-segment.ts';
import { inverseNormal, normalEquations, solveStep } from './normal-equations.ts';
import { breaksWithin, isPossible } from './possible-segment.ts';
import { sumNormalEquations, sumOfSquares } from './segment-sums.ts';
import { serialCorrelation } from './serial-correlation.ts';
import { startSegment } from './start-segment.ts';

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
  const start = startSegment(form, u, x, halfWidth);
  if (start === null) return null;
  if (!form.rest && !form.broken) return { parameters: start, sum: sumOfSquares(form, start, u, x) };
  return descend(form, start, u, x);
}

function descend(form: SegmentForm, start: Float64Array, u: Float64Array, x: Float64Array): Fitted | null {
  const size = start.length;
  const equations = normalEquations(size);
  const step = new Float64Array(size);
  let parameters = start;
  let next: Float64Array = new Float64Array(size);
  let sum = sumOfSquares(form, parameters, u, x);
  let damping = 1e-3;
  for (let iteration = 0; iteration < mostIterations; iteration += 1) {
    sumNormalEquations(form, parameters, u, x, equations);
    let improved = false;
    for (let attempt = 0; attempt < 8 && !improved; attempt += 1) {
      if (!solveStep(equations, damping, step)) return null;
      for (let k = 0; k < size; k += 1) next[k] = (parameters[k] as number) + (step[k] as number);
      const nextSum = breaksWithin(form, next, u) ? sumOfSquares(form, next, u, x) : Number.POSITIVE_INFINITY;
      if (nextSum < sum) {
        const settled = sum - nextSum <= 1e-10 * sum;
        [parameters, next] = [next, parameters];
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
  const equations = normalEquations(parameters.length);
  const residuals = new Float64Array(points);
  sumNormalEquations(form, parameters, u, x, equations, residuals);
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

/** Instant of a phase's end with its standard uncertainty, s; `place` is its place among the parameters (1 rest, 4 sliding). */
export function phaseEnd(
  segment: BallSegment,
  place: 1 | 4,
): { readonly time: number; readonly standardUncertainty: number } {
  const gradient = new Float64Array(segment.parameters.length);
  gradient[place] = segment.halfWidth;
  return {
    time: segment.centre + segment.halfWidth * (segment.parameters[place] as number),
    standardUncertainty: Math.sqrt(combinationVariance(segment, gradient)),
  };
}

/** Fewest frames of a phase, and the least by which its parabola must leave the neighbouring one, in residual deviations. */
const leastFrames = 5;
const leastBend = 20;

/**
 * Whether both phases of a stretch are on film, each long enough to be told from the other. A stretch of one phase may
 * hold a short second one that goes unseen.
 */
export function phasesShown({ form, parameters, points, residualStandardDeviation }: BallSegment): boolean {
  if (!form.broken) return false;
  const bendAt = parameters[4] as number;
  const end = form.rest ? (parameters[1] as number) : 1;
  const shorter = Math.min(bendAt + 1, end - bendAt);
  const interval = 2 / (points - 1);
  const bend = Math.abs(parameters[3] as number) * shorter * shorter;
  return shorter >= leastFrames * interval && bend >= leastBend * residualStandardDeviation;
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

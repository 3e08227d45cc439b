/** Where the fit of a stretch of ball motion starts: the best possible one of a grid of break times. */
import type { SegmentForm } from './ball-segment.ts';
import { type NormalEquations, normalEquations, solveStep } from './normal-equations.ts';
import { isPossible } from './possible-segment.ts';

/** Most points of the grid search; more are thinned there, not in the fit. */
const gridPoints = 150;
const gridSteps = 16;

/** Linear least squares of a form at given break times: columns 1, u, the curve of the last phase, the bend. */
interface Search {
  readonly form: SegmentForm;
  readonly u: Float64Array;
  /** Positions from the first one, m. */
  readonly places: Float64Array;
  readonly origin: number;
  readonly equations: NormalEquations;
  readonly solution: Float64Array;
  /** The curve at each point: u^2, or the squared time left until rest. */
  readonly curve: Float64Array;
  /** Parameters of the form that was solved last. */
  readonly parameters: Float64Array;
}

/**
 * Parameters of the form to start from: the best of the grid, the other parameters by linear least squares on thinned
 * points; for a single parabola the least-squares fit itself. Null when none is possible.
 *
 * @param u mapped times; `x` positions, m; `halfWidth` of the map, s
 */
export function startSegment(
  form: SegmentForm,
  u: Float64Array,
  x: Float64Array,
  halfWidth: number,
): Float64Array | null {
  const isParabola = !form.rest && !form.broken;
  const stride = isParabola ? 1 : Math.max(1, Math.floor(u.length / gridPoints));
  const search = searchOf(form, thinned(u, stride), thinned(x, stride));
  if (isParabola) {
    setCurve(search, 0);
    return solveAt(search, 0, 0) ? search.parameters.slice() : null;
  }
  let best: Float64Array | null = null;
  let least = Number.POSITIVE_INFINITY;
  for (let rest = form.rest ? 1 : gridSteps; rest <= gridSteps; rest += 1) {
    const restAt = -1 + (2 * (rest - 0.5)) / gridSteps;
    setCurve(search, restAt);
    for (let bend = form.broken ? 1 : gridSteps; bend <= gridSteps; bend += 1) {
      // Denser at the start: sliding is short beside rolling.
      const share = (bend - 0.5) / gridSteps;
      const bendAt = -1 + (form.rest ? (restAt + 1) * share * share : 2 * share);
      if (!solveAt(search, restAt, bendAt) || !isPossible(form, search.parameters, u, halfWidth)) continue;
      const sum = sumBelow(search, bendAt, least);
      if (best !== null && !(sum < least)) continue;
      best = search.parameters.slice();
      least = sum;
    }
  }
  return best;
}

function thinned(values: Float64Array, stride: number): Float64Array {
  if (stride === 1) return values;
  const few = new Float64Array(Math.ceil(values.length / stride));
  for (let i = 0; i < few.length; i += 1) few[i] = values[i * stride] as number;
  return few;
}

function searchOf(form: SegmentForm, u: Float64Array, x: Float64Array): Search {
  const origin = x[0] as number;
  const places = new Float64Array(x.length);
  for (let i = 0; i < x.length; i += 1) places[i] = (x[i] as number) - origin;
  const size = 2 + (form.rest ? 0 : 1) + (form.broken ? 1 : 0);
  return {
    form,
    u,
    places,
    origin,
    equations: normalEquations(size),
    solution: new Float64Array(size),
    curve: new Float64Array(u.length),
    parameters: new Float64Array(form.broken ? 5 : 3),
  };
}

/** Fills the curve for one time of rest, and the sums that do not hold the bend. */
function setCurve({ form, u, places, equations, curve }: Search, restAt: number): void {
  const { size, matrix, right } = equations;
  let u0 = 0;
  let uu = 0;
  let a0 = 0;
  let au = 0;
  let aa = 0;
  let r0 = 0;
  let ru = 0;
  let ra = 0;
  for (let i = 0; i < u.length; i += 1) {
    const at = u[i] as number;
    const place = places[i] as number;
    const left = Math.max(0, restAt - at);
    const a = form.rest ? left * left : at * at;
    curve[i] = a;
    u0 += at;
    uu += at * at;
    a0 += a;
    au += a * at;
    aa += a * a;
    r0 += place;
    ru += at * place;
    ra += a * place;
  }
  matrix[0] = u.length;
  right[0] = r0;
  if (form.rest) {
    matrix[size] = a0;
    matrix[size + 1] = aa;
    right[1] = ra;
    return;
  }
  matrix[size] = u0;
  matrix[size + 1] = uu;
  right[1] = ru;
  matrix[2 * size] = a0;
  matrix[2 * size + 1] = au;
  matrix[2 * size + 2] = aa;
  right[2] = ra;
}

/** Solves at these breaks, for the curve that is set; false when the columns cannot be told apart. */
function solveAt(search: Search, restAt: number, bendAt: number): boolean {
  const { form, u, places, origin, equations, solution, curve, parameters } = search;
  if (form.broken) {
    let b0 = 0;
    let bu = 0;
    let ba = 0;
    let bb = 0;
    let rb = 0;
    for (let i = 0; i < u.length && (u[i] as number) < bendAt; i += 1) {
      const at = u[i] as number;
      const left = bendAt - at;
      const b = left * left;
      b0 += b;
      bu += b * at;
      ba += b * (curve[i] as number);
      bb += b * b;
      rb += b * (places[i] as number);
    }
    const { size, matrix, right } = equations;
    const last = size - 1;
    matrix[last * size] = b0;
    if (!form.rest) matrix[last * size + 1] = bu;
    matrix[last * size + last - 1] = ba;
    matrix[last * size + last] = bb;
    right[last] = rb;
  }
  if (!solveStep(equations, 0, solution)) return false;
  parameters[0] = (solution[0] as number) + origin;
  parameters[1] = form.rest ? restAt : (solution[1] as number);
  parameters[2] = solution[form.rest ? 1 : 2] as number;
  if (form.broken) {
    parameters[3] = solution[form.rest ? 2 : 3] as number;
    parameters[4] = bendAt;
  }
  return true;
}

/** Sum of squared residuals of what was solved last; no further than `limit`, beyond which it is not wanted. */
function sumBelow({ form, u, places, solution, curve }: Search, bendAt: number, limit: number): number {
  const constant = solution[0] as number;
  const linear = form.rest ? 0 : (solution[1] as number);
  const curved = solution[form.rest ? 1 : 2] as number;
  const bend = form.broken ? (solution[form.rest ? 2 : 3] as number) : 0;
  let sum = 0;
  for (let i = 0; i < u.length; i += 1) {
    const at = u[i] as number;
    let residual = (places[i] as number) - constant;
    if (!form.rest) residual -= at * linear;
    residual -= (curve[i] as number) * curved;
    if (form.broken && at < bendAt) {
      const left = bendAt - at;
      residual -= left * left * bend;
    }
    sum += residual * residual;
    if (sum >= limit) return sum;
  }
  return sum;
}

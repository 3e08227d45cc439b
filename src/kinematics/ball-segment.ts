/**
 * One stretch of a ball's motion on the cloth without any blow: it may slide, then roll, then lie still. Friction is
 * constant in each phase, so position is a parabola in each and smooth across the breaks. In mapped time u:
 *
 *   still moving at the end:  x = c0 + c1 u + A u^2          + B (ub - u)+^2
 *   lying still at the end:   x = c0        + A (ur - u)+^2  + B (ub - u)+^2
 *
 * (z)+ = max(z, 0); ub = end of sliding, ur = coming to rest. Rolling acceleration 2A, sliding acceleration 2(A + B). The
 * last term is left out when there is only one phase.
 */

/** Which phases a stretch has. */
export interface SegmentForm {
  /** The ball comes to rest within the stretch. */
  readonly rest: boolean;
  /** Sliding ends within the stretch. */
  readonly broken: boolean;
}

/** Parameters in order: c0, c1 (or ur at rest), A, and when broken B, ub. */
export function parameterCount(form: SegmentForm): number {
  return form.broken ? 5 : 3;
}

/** What is computed at one instant; reused between calls by the caller. */
export interface SegmentPoint {
  value: number;
  slope: number;
  curvature: number;
  /** Derivatives of the value by the parameters. */
  readonly valueGradient: Float64Array;
  /** Derivatives of the slope by the parameters. */
  readonly slopeGradient: Float64Array;
}

/** Room for the results of `evaluateSegment`. */
export function segmentPoint(form: SegmentForm): SegmentPoint {
  const size = parameterCount(form);
  return {
    value: 0,
    slope: 0,
    curvature: 0,
    valueGradient: new Float64Array(size),
    slopeGradient: new Float64Array(size),
  };
}

/** Position, slope and curvature at mapped time u with their gradients, written into `into`. */
export function evaluateSegment(form: SegmentForm, parameters: Float64Array, u: number, into: SegmentPoint): void {
  const [c0, second, curve] = parameters as unknown as [number, number, number];
  const { valueGradient, slopeGradient } = into;
  valueGradient[0] = 1;
  slopeGradient[0] = 0;
  if (form.rest) {
    const left = Math.max(0, second - u);
    into.value = c0 + curve * left * left;
    into.slope = -2 * curve * left;
    into.curvature = left > 0 ? 2 * curve : 0;
    valueGradient[1] = 2 * curve * left;
    valueGradient[2] = left * left;
    slopeGradient[1] = left > 0 ? -2 * curve : 0;
    slopeGradient[2] = -2 * left;
  } else {
    into.value = c0 + second * u + curve * u * u;
    into.slope = second + 2 * curve * u;
    into.curvature = 2 * curve;
    valueGradient[1] = u;
    valueGradient[2] = u * u;
    slopeGradient[1] = 1;
    slopeGradient[2] = 2 * u;
  }
  if (!form.broken) return;
  const bend = parameters[3] as number;
  const left = Math.max(0, (parameters[4] as number) - u);
  into.value += bend * left * left;
  into.slope -= 2 * bend * left;
  if (left > 0) into.curvature += 2 * bend;
  valueGradient[3] = left * left;
  valueGradient[4] = 2 * bend * left;
  slopeGradient[3] = -2 * left;
  slopeGradient[4] = left > 0 ? -2 * bend : 0;
}

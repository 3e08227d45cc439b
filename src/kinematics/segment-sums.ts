/**
 * Sums over the points of a stretch of ball motion: squared residuals, and the normal equations of its parameters. The
 * same terms as `evaluateSegment`, written out in one pass without a row in between; terms past a break are zero and left
 * out.
 */
import { parameterCount, type SegmentForm } from './ball-segment.ts';
import type { NormalEquations } from './normal-equations.ts';

/** Sum of squared residuals of x at mapped times u, m2. */
export function sumOfSquares(form: SegmentForm, parameters: Float64Array, u: Float64Array, x: Float64Array): number {
  const [c0, second, curve] = parameters as unknown as [number, number, number];
  const bend = form.broken ? (parameters[3] as number) : 0;
  const bendAt = form.broken ? (parameters[4] as number) : Number.NEGATIVE_INFINITY;
  let sum = 0;
  for (let i = 0; i < u.length; i += 1) {
    const at = u[i] as number;
    let value: number;
    if (form.rest) {
      const left = Math.max(0, second - at);
      value = c0 + curve * left * left;
    } else value = c0 + second * at + curve * at * at;
    if (at < bendAt) {
      const left = bendAt - at;
      value += bend * left * left;
    }
    const residual = (x[i] as number) - value;
    sum += residual * residual;
  }
  return sum;
}

/** Writes the sums of the derivatives by the parameters into `into`; residuals into `residuals` where it is given. */
export function sumNormalEquations(
  form: SegmentForm,
  parameters: Float64Array,
  u: Float64Array,
  x: Float64Array,
  into: NormalEquations,
  residuals?: Float64Array,
): void {
  const [c0, second, curve] = parameters as unknown as [number, number, number];
  const bend = form.broken ? (parameters[3] as number) : 0;
  const bendAt = form.broken ? (parameters[4] as number) : Number.NEGATIVE_INFINITY;
  let m10 = 0;
  let m11 = 0;
  let m20 = 0;
  let m21 = 0;
  let m22 = 0;
  let m30 = 0;
  let m31 = 0;
  let m32 = 0;
  let m33 = 0;
  let m40 = 0;
  let m41 = 0;
  let m42 = 0;
  let m43 = 0;
  let m44 = 0;
  let r0 = 0;
  let r1 = 0;
  let r2 = 0;
  let r3 = 0;
  let r4 = 0;
  for (let i = 0; i < u.length; i += 1) {
    const at = u[i] as number;
    let value: number;
    let g1: number;
    let g2: number;
    if (form.rest) {
      const left = Math.max(0, second - at);
      value = c0 + curve * left * left;
      g1 = 2 * curve * left;
      g2 = left * left;
    } else {
      value = c0 + second * at + curve * at * at;
      g1 = at;
      g2 = at * at;
    }
    const isBefore = at < bendAt;
    const left = isBefore ? bendAt - at : 0;
    if (isBefore) value += bend * left * left;
    const residual = (x[i] as number) - value;
    if (residuals !== undefined) residuals[i] = residual;
    m10 += g1;
    m11 += g1 * g1;
    m20 += g2;
    m21 += g2 * g1;
    m22 += g2 * g2;
    r0 += residual;
    r1 += g1 * residual;
    r2 += g2 * residual;
    if (!isBefore) continue;
    const g3 = left * left;
    const g4 = 2 * bend * left;
    m30 += g3;
    m31 += g3 * g1;
    m32 += g3 * g2;
    m33 += g3 * g3;
    m40 += g4;
    m41 += g4 * g1;
    m42 += g4 * g2;
    m43 += g4 * g3;
    m44 += g4 * g4;
    r3 += g3 * residual;
    r4 += g4 * residual;
  }
  const size = parameterCount(form);
  const rows = [[u.length], [m10, m11], [m20, m21, m22], [m30, m31, m32, m33], [m40, m41, m42, m43, m44]] as const;
  const right = [r0, r1, r2, r3, r4] as const;
  for (let i = 0; i < size; i += 1) {
    const row = rows[i] as readonly number[];
    for (let j = 0; j <= i; j += 1) into.matrix[i * size + j] = row[j] as number;
    into.right[i] = right[i] as number;
  }
}

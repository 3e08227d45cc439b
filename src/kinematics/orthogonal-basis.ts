/**
 * Polynomials orthogonal over a set of points, by the three-term recurrence of Stieltjes and Forsythe:
 *
 *   p_0 = 1,  p_(k+1)(u) = (u - alpha_k) p_k(u) - beta_k p_(k-1)(u)
 *   alpha_k = <u p_k, p_k> / <p_k, p_k>,  beta_k = <p_k, p_k> / <p_(k-1), p_(k-1)>,  <f, g> = sum over the points
 *
 * On equally spaced points these are the Gram polynomials. Least squares needs no matrix then: every coefficient is
 * one projection, independent of the others, and a higher degree leaves the lower coefficients as they are.
 * Source: G. E. Forsythe, J. SIAM 5, 74 (1957) [from memory].
 */

export interface OrthogonalBasis {
  readonly degree: number;
  readonly points: number;
  /** alpha_k, k = 0..degree-1. */
  readonly alpha: Float64Array;
  /** beta_k, k = 0..degree-1 (beta_0 unused, 0). */
  readonly beta: Float64Array;
  /** Squared norm <p_k, p_k>, k = 0..degree. */
  readonly squaredNorm: Float64Array;
  /** p_k at point i, at index k * points + i. */
  readonly values: Float64Array;
}

/**
 * Builds the basis up to `degree` on the abscissae (mapped to about [-1, 1] for accuracy).
 *
 * @throws RangeError when there are not more distinct abscissae than `degree`
 */
export function orthogonalBasis(abscissae: Float64Array, degree: number): OrthogonalBasis {
  const points = abscissae.length;
  const alpha = new Float64Array(degree);
  const beta = new Float64Array(degree);
  const squaredNorm = new Float64Array(degree + 1);
  const values = new Float64Array((degree + 1) * points);
  if (points <= degree) throw new RangeError(`degree ${degree} needs more than ${degree} points, not ${points}`);
  values.fill(1, 0, points);
  squaredNorm[0] = points;
  let moment = 0;
  for (let i = 0; i < points; i += 1) moment += abscissae[i] as number;
  for (let k = 0; k < degree; k += 1) {
    const row = k * points;
    const norm = squaredNorm[k] as number;
    const shift = moment / norm;
    const carry = k === 0 ? 0 : norm / (squaredNorm[k - 1] as number);
    alpha[k] = shift;
    beta[k] = carry;
    let nextNorm = 0;
    moment = 0;
    // The moment of the next polynomial is summed while it is made: two sums in one pass wait less than one in each.
    for (let i = 0; i < points; i += 1) {
      const u = abscissae[i] as number;
      const before = k === 0 ? 0 : (values[row - points + i] as number);
      const next = (u - shift) * (values[row + i] as number) - carry * before;
      values[row + points + i] = next;
      nextNorm += next * next;
      moment += u * next * next;
    }
    // Equal abscissae make the next polynomial vanish at every point: what is left is rounding.
    if (!(nextNorm > points * 1e-26)) throw new RangeError(`fewer than ${degree + 1} distinct abscissae`);
    squaredNorm[k + 1] = nextNorm;
  }
  return { degree, points, alpha, beta, squaredNorm, values };
}

/**
 * Derivatives of every basis polynomial at abscissa `u`: index d * (degree + 1) + k holds the d-th derivative of p_k
 * with respect to u, d = 0..highest. From the recurrence differentiated d times:
 * p_(k+1)^(d) = (u - alpha_k) p_k^(d) + d p_k^(d-1) - beta_k p_(k-1)^(d).
 */
export function basisDerivatives(basis: OrthogonalBasis, u: number, highest: number): Float64Array {
  const width = basis.degree + 1;
  const table = new Float64Array((highest + 1) * width);
  table[0] = 1;
  for (let d = 0; d <= highest; d += 1) {
    const row = d * width;
    for (let k = 0; k < basis.degree; k += 1) {
      const carried = k === 0 ? 0 : (basis.beta[k] as number) * (table[row + k - 1] as number);
      const lowered = d === 0 ? 0 : d * (table[row - width + k] as number);
      table[row + k + 1] = (u - (basis.alpha[k] as number)) * (table[row + k] as number) + lowered - carried;
    }
  }
  return table;
}

/** Exact 95 % half-width of the sum of two or three independent errors, each uniform on +- its half-width. */

/**
 * The h with P(|A + B + C| <= h) = 0.95, A, B, C uniform on +-`first`, +-`second`, +-`third`; any unit.
 *
 * Two of them make a trapezoid of half-base a = first + second and half-top b = |first - second|, whose tail beyond
 * h >= b is (a - h)^2 / (2 (a^2 - b^2)). With a third the tail is the mean of that over its range, solved by bisection.
 */
export function sumOfUniformsHalfWidth95(first: number, second: number, third = 0): number {
  // A third one too small to show in the sum would only cancel digits.
  if (third <= 1e-6 * (first + second)) return trapezoidHalfWidth(first + second, Math.abs(first - second));
  let low = 0;
  let high = first + second + third;
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (tailOfThree(first, second, third, middle) > 0.025) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

function trapezoidHalfWidth(base: number, top: number): number {
  const inSlope = base - Math.sqrt(0.05 * (base * base - top * top));
  return inSlope > top ? inSlope : 0.475 * (base + top);
}

/**
 * P(A + B + C > x): the sum over the eight sign patterns of sign * (corner - x)_+^3 / (3! * 8 * product of half-widths),
 * corner = +-first +- second +- third.
 */
function tailOfThree(first: number, second: number, third: number, x: number): number {
  let sum = 0;
  for (let pattern = 0; pattern < 8; pattern += 1) {
    const a = pattern & 1 ? -1 : 1;
    const b = pattern & 2 ? -1 : 1;
    const c = pattern & 4 ? -1 : 1;
    const beyond = a * first + b * second + c * third - x;
    if (beyond > 0) sum += a * b * c * beyond * beyond * beyond;
  }
  return sum / (48 * first * second * third);
}

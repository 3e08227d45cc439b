/**
 * Half-width of the 95 % interval of a sum of a normal and a rectangular error. When the rectangular one is not small,
 * 1.96 times the combined standard uncertainty covers too much: a rectangle alone ends at 1.73 of its own.
 */
import exp from '@stdlib/math-base-special-exp';
import { normalCdf } from '../statistics/distributions.ts';

/** Standard normal quantile of 0.975. */
export const normalFactor95 = 1.959963984540054;
const oneOverRootTwoPi = 0.3989422804014327;

/** Integral of the standard normal distribution function from minus infinity to z. */
function integratedNormalCdf(z: number): number {
  return z * normalCdf(z) + oneOverRootTwoPi * exp((-z * z) / 2);
}

/**
 * The h with P(|X + U| <= h) = 0.95, X normal with standard deviation `normal` and U uniform on +-`rectangular`,
 * independent; all in the same unit.
 *
 * P(X + U <= h) = [S((h + w)/s) - S((h - w)/s)] / (2 w/s), S the integral of the normal distribution function; solved
 * by Newton's method, which stays on one side because the function is concave above the median.
 */
export function halfWidth95(normal: number, rectangular: number): number {
  const w = Math.abs(rectangular);
  if (normal === 0) return 0.95 * w;
  const ratio = w / normal;
  // Below this ratio the sum is normal to better than 1e-6 of its width, above the other one rectangular.
  if (ratio < 0.03) return normalFactor95 * Math.sqrt(normal * normal + (w * w) / 3);
  if (ratio > 200) return 0.95 * w;
  let h = 0.95 * ratio;
  for (let step = 0; step < 50; step += 1) {
    const probability = (integratedNormalCdf(h + ratio) - integratedNormalCdf(h - ratio)) / (2 * ratio);
    const density = (normalCdf(h + ratio) - normalCdf(h - ratio)) / (2 * ratio);
    const change = (0.975 - probability) / density;
    h += change;
    if (Math.abs(change) < 1e-12 * h) break;
  }
  return normal * h;
}

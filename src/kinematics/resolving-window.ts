/** The window that would resolve an acceleration which the present one does not. */
import exp from '@stdlib/math-base-special-exp';
import ln from '@stdlib/math-base-special-ln';

/** No stroke keeps one polynomial for longer than this, s: a longer window would resolve something else. */
const longestWindow = 0.5;

/**
 * At a given capture rate and noise the standard uncertainty of an end-point acceleration falls as sigma sqrt(720 / n) /
 * T^2 (order 2; other orders with another number), n in proportion to T, so as T^(-5/2). The window that makes it half
 * the acceleration is T (2 u / |a|)^(2/5).
 *
 * @param uncertainty of the acceleration from the scatter of the points alone, m/s2
 * @param window present length, s
 * @returns s; null when the acceleration is resolved already, or when no window a stroke lasts would do
 */
export function resolvingWindow(acceleration: number, uncertainty: number, window: number): number | null {
  const ratio = (2 * uncertainty) / Math.abs(acceleration);
  if (!(ratio > 1)) return null;
  const needed = window * exp(0.4 * ln(ratio));
  return needed <= longestWindow ? needed : null;
}

import exp from '@stdlib/math-base-special-exp';
import ln from '@stdlib/math-base-special-ln';

/** Strips of Simpson's rule; the integrands are smooth, the error stays below 1e-8. */
const strips = 256;
/** Standard deviations of the spread beyond which its density is nothing. */
const reach = 10;

/**
 * Expectation of a function of s = (estimated over true standard error), where s^2 * degrees is chi-square with
 * `degrees` degrees of freedom. The density s^(degrees - 1) exp(-degrees s^2 / 2) is normalised by the same rule, so no
 * gamma function is needed.
 * @param degrees > 0, need not be whole
 * @param value function of s; zero beyond `until`, where it may have a kink
 */
export function meanOverSpread(
  degrees: number,
  value: (s: number) => number,
  until = Number.POSITIVE_INFINITY,
): number {
  const width = reach / Math.sqrt(2 * degrees);
  const low = Math.max(0, 1 - width);
  const high = 1 + width;
  // With one degree of freedom the density is largest at zero; else at sqrt(1 - 1 / degrees).
  const mode = degrees > 1 ? Math.sqrt(1 - 1 / degrees) : 1;
  const density = (s: number): number => {
    if (s === 0) return degrees === 1 ? exp((degrees * mode * mode) / 2) : 0;
    return exp((degrees - 1) * ln(s / mode) - (degrees * (s * s - mode * mode)) / 2);
  };
  const end = Math.min(high, until);
  if (!(end > low)) return 0;
  return simpson((s) => value(s) * density(s), low, end) / simpson(density, low, high);
}

function simpson(value: (at: number) => number, low: number, high: number): number {
  const step = (high - low) / strips;
  let sum = value(low) + value(high);
  for (let k = 1; k < strips; k += 1) sum += (k % 2 === 1 ? 4 : 2) * value(low + k * step);
  return (sum * step) / 3;
}

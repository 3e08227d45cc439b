/** Do groups differ in level? One-way analysis of variance, with or without predictors. */
import { fisherUpper } from './distributions.ts';
import type { JointTest } from './joint-test.ts';
import { leastSquares } from './least-squares.ts';
import type { Moments } from './moments.ts';

export interface GroupLevels extends JointTest {
  /** Sums of squares: between the levels at equal predictors, and what is left within groups. */
  readonly between: number;
  readonly within: number;
}

/**
 * F test of one intercept a group against one for all. Null when there is one group, nothing is left within groups, or the
 * predictors cannot be told apart.
 * @param groups moments of the predictors and the response, the response last
 */
export function groupLevels(groups: readonly Moments[]): GroupLevels | null {
  const within = leastSquares(groups, 'within');
  const pooled = leastSquares(groups, 'pooled');
  if (!within.ok || !pooled.ok || within.fit.groups < 2) return null;
  const left = within.fit.residualSumOfSquares;
  if (!(left > 0)) return null;
  const between = Math.max(0, pooled.fit.residualSumOfSquares - left);
  const numeratorDegrees = within.fit.groups - 1;
  const denominatorDegrees = within.fit.degreesOfFreedom;
  const f = between / numeratorDegrees / (left / denominatorDegrees);
  return {
    f,
    numeratorDegrees,
    denominatorDegrees,
    pValue: fisherUpper(f, numeratorDegrees, denominatorDegrees),
    between,
    within: left,
  };
}

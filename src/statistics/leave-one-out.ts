/** The fit without each group in turn: which group the slopes rest on. */
import { type LeastSquares, leastSquares } from './least-squares.ts';
import { emptyMoments, type Moments } from './moments.ts';

export interface WithoutGroup {
  readonly group: number;
  /** Null when the rest cannot give the slopes. */
  readonly fit: LeastSquares | null;
  /** (b - b_(g))' S_xx (b - b_(g)) / (p s^2), Cook's distance of a whole group. */
  readonly distance: number | null;
}

/** Refits from the moments of the others, merged anew; nothing is subtracted, so no digits are lost. */
export function leaveOneGroupOut(fit: LeastSquares, groups: readonly Moments[]): WithoutGroup[] {
  const empty = emptyMoments(fit.predictors + 1);
  return groups.flatMap((moments, group): WithoutGroup[] => {
    if (moments.count === 0) return [];
    const outcome = leastSquares(
      groups.map((other, place) => (place === group ? empty : other)),
      fit.model,
    );
    if (!outcome.ok) return [{ group, fit: null, distance: null }];
    return [{ group, fit: outcome.fit, distance: cookDistance(fit, outcome.fit) }];
  });
}

/** S_xx = D C C' D, so the form is the squared length of C' D (b - b_(g)). */
function cookDistance(fit: LeastSquares, without: LeastSquares): number | null {
  const { size, lower } = fit.factor;
  if (size === 0 || !(fit.residualVariance > 0)) return null;
  let sum = 0;
  for (let k = 0; k < size; k += 1) {
    let part = 0;
    for (let j = k; j < size; j += 1) {
      const change = ((fit.slopes[j] as number) - (without.slopes[j] as number)) * (fit.scales[j] as number);
      part += (lower[j * size + k] as number) * change;
    }
    sum += part * part;
  }
  return sum / (size * fit.residualVariance);
}

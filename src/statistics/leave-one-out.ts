/** The fit without each group in turn: which group the slopes rest on. */
import { type GroupSums, type LeastSquares, leastSquaresOfSums } from './least-squares.ts';
import { emptyMoments, type Moments, mergeMoments } from './moments.ts';

export interface WithoutGroup {
  readonly group: number;
  /** Null when the rest cannot give the slopes. */
  readonly fit: LeastSquares | null;
  /** (b - b_(g))' S_xx (b - b_(g)) / (p s^2), Cook's distance of a whole group. */
  readonly distance: number | null;
}

/**
 * Refits from the moments of the others: those before the group, merged from the left, with those after it, merged from the
 * right. Nothing is subtracted, so no digits are lost, and the work grows with the number of groups, not with its square.
 */
export function leaveOneGroupOut(fit: LeastSquares, groups: readonly Moments[]): WithoutGroup[] {
  const before = runningSums(groups, fit.predictors + 1);
  const after = runningSums([...groups].reverse(), fit.predictors + 1).reverse();
  return groups.flatMap((moments, group): WithoutGroup[] => {
    if (moments.count === 0) return [];
    const outcome = leastSquaresOfSums(joined(before[group] as GroupSums, after[group + 1] as GroupSums), fit.model);
    if (!outcome.ok) return [{ group, fit: null, distance: null }];
    return [{ group, fit: outcome.fit, distance: cookDistance(fit, outcome.fit) }];
  });
}

/** Sums over the first 0, 1, 2, ... groups. */
function runningSums(groups: readonly Moments[], width: number): GroupSums[] {
  let sums: GroupSums = { all: emptyMoments(width), occupied: 0, within: new Float64Array(width * width) };
  const running = [sums];
  for (const moments of groups) {
    sums = joined(sums, { all: moments, occupied: moments.count > 0 ? 1 : 0, within: moments.products });
    running.push(sums);
  }
  return running;
}

function joined(first: GroupSums, second: GroupSums): GroupSums {
  return {
    all: mergeMoments(first.all.means.length, [first.all, second.all]),
    occupied: first.occupied + second.occupied,
    within: first.within.map((value, at) => value + (second.within[at] as number)),
  };
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

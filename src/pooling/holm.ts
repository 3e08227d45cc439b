/** p-values of several slopes of one question, adjusted together. */
import type { RegressionSpecification } from '../../shared/regression.ts';

/** Holm 1979 (Scand. J. Stat. 6:65, from memory): the k-th smallest times n - k + 1, never falling, at most 1. */
export function holm(pValues: readonly number[]): number[] {
  const order = [...pValues.keys()].sort((a, b) => (pValues[a] as number) - (pValues[b] as number) || a - b);
  const adjusted = pValues.map(() => 1);
  let largest = 0;
  order.forEach((place, rank) => {
    largest = Math.max(largest, Math.min(1, (pValues.length - rank) * (pValues[place] as number)));
    adjusted[place] = largest;
  });
  return adjusted;
}

/** By row; null for the intercept and for a slope that is alone. */
export function holmOfTerms(
  rows: readonly number[],
  pValues: readonly number[],
  { terms }: Pick<RegressionSpecification, 'terms'>,
): (number | null)[] {
  const slopes = rows.flatMap((row, place) => (row < terms.length ? [place] : []));
  if (slopes.length < 2) return rows.map(() => null);
  const adjusted = holm(slopes.map((place) => pValues[place] as number));
  return rows.map((_, place) => adjusted[slopes.indexOf(place)] ?? null);
}

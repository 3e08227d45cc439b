import { meanOf } from './paired-difference.ts';

/** Least squares of a response on predictors and an intercept; n observations, k predictors. */
export interface PairedLeastSquares {
  /** Value of the fit where every predictor is zero. */
  readonly intercept: number;
  /** One a predictor, in response unit over predictor unit; null when the predictor was dropped. */
  readonly slopes: readonly (number | null)[];
  readonly residualSumOfSquares: number;
  /** Variance of the intercept over the residual variance: 1/n + zbar' (Zc' Zc)^-1 zbar. */
  readonly interceptLeverage: number;
  readonly predictorsKept: number;
}

/**
 * A predictor whose part that is new beside the earlier ones is smaller than this (root mean square over its scale)
 * cannot be told from rounding and is dropped.
 */
const collinearTolerance = 1e-9;

/**
 * Least squares through an orthogonal basis of the centred predictors: modified Gram-Schmidt, each column
 * orthogonalised twice (Bjorck 1967, BIT 7:1; Giraud, Langou & Rozloznik 2005 on why twice is enough). Never the
 * normal equations. Predictors that are constant or collinear with earlier ones are dropped.
 * @param response length n >= 1
 * @param predictors k columns of length n
 * @param scales size that counts as a noticeable change of each predictor, > 0; only used to recognise dropped ones
 */
export function pairedLeastSquares(
  response: Float64Array,
  predictors: readonly Float64Array[],
  scales: readonly number[],
): PairedLeastSquares {
  const n = response.length;
  const responseMean = meanOf(response);
  const residual = response.map((value) => value - responseMean);
  const basis: { place: number; direction: Float64Array; column: Float64Array; component: number }[] = [];
  const carriedMeans: number[] = [];
  let intercept = responseMean;
  let interceptLeverage = 1 / n;

  predictors.forEach((predictor, place) => {
    const mean = meanOf(predictor);
    const direction = predictor.map((value) => value - mean);
    // The mean goes through the same steps as one more row: that gives R^-T zbar without forming R^-1.
    let carried = mean;
    const column = new Float64Array(basis.length + 1);
    for (let pass = 0; pass < 2; pass++) {
      basis.forEach((earlier, k) => {
        const part = dot(earlier.direction, direction);
        for (let i = 0; i < n; i++) direction[i] = (direction[i] as number) - part * (earlier.direction[i] as number);
        column[k] = (column[k] as number) + part;
        carried -= part * (carriedMeans[k] as number);
      });
    }
    const length = Math.sqrt(dot(direction, direction));
    if (!(length > collinearTolerance * (scales[place] as number) * Math.sqrt(n))) return;
    for (let i = 0; i < n; i++) direction[i] = (direction[i] as number) / length;
    column[basis.length] = length;
    carried /= length;
    const component = dot(direction, residual);
    for (let i = 0; i < n; i++) residual[i] = (residual[i] as number) - component * (direction[i] as number);
    intercept -= component * carried;
    interceptLeverage += carried * carried;
    carriedMeans.push(carried);
    basis.push({ place, direction, column, component });
  });

  const slopes: (number | null)[] = predictors.map(() => null);
  for (let k = basis.length - 1; k >= 0; k--) {
    const { place, column, component } = basis[k] as (typeof basis)[number];
    let rest = component;
    for (let later = k + 1; later < basis.length; later++) {
      const { place: laterPlace, column: laterColumn } = basis[later] as (typeof basis)[number];
      rest -= (laterColumn[k] as number) * (slopes[laterPlace] as number);
    }
    slopes[place] = rest / (column[k] as number);
  }
  return {
    intercept,
    slopes,
    residualSumOfSquares: dot(residual, residual),
    interceptLeverage,
    predictorsKept: basis.length,
  };
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += (a[i] as number) * (b[i] as number);
  return sum;
}

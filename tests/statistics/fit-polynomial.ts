/** Fits a polynomial through the kernel, with raw coefficients, as the pooled regression does. */

import { chunkSegments } from '../../src/statistics/chunk-segments.ts';
import { classicalVariance, type LeastSquares, leastSquares } from '../../src/statistics/least-squares.ts';
import { momentsByGroup } from '../../src/statistics/moments.ts';
import { rawCoefficient, rawContrast, rawMap } from '../../src/statistics/raw-coefficients.ts';
import { type Term, termBasis, termColumns } from '../../src/statistics/term-basis.ts';

export interface RawFit {
  readonly fit: LeastSquares;
  /** Intercept first. */
  readonly coefficients: number[];
  readonly standardErrors: number[];
}

/** Pooled fit of the response on an intercept and the terms; one group. Throws when it cannot be estimated. */
export function fitTerms(terms: readonly Term[], variables: readonly number[][], response: readonly number[]): RawFit {
  const columns = variables.map((values) => Float64Array.from(values));
  const ranges = variables.map((values) => ({ min: Math.min(...values), max: Math.max(...values) }));
  const basis = termBasis(terms, ranges);
  const indices = Int32Array.from(response, (_, row) => row);
  const offset = (Math.min(...response) + Math.max(...response)) / 2;
  const fill = termColumns(basis, columns, Float64Array.from(response), offset, indices);
  const segments = chunkSegments(new Int32Array(response.length), indices, indices);
  const moments = momentsByGroup(terms.length + 1, fill, segments, 1);
  const outcome = leastSquares(moments, 'pooled');
  if (!outcome.ok) throw new Error(`not estimable: ${outcome.reason}`);
  const { fit } = outcome;
  const map = rawMap(basis);
  let atMeans = fit.means[terms.length] as number;
  for (let j = 0; j < terms.length; j += 1) atMeans -= (fit.slopes[j] as number) * (fit.means[j] as number);
  const slopes = terms.map((_, row) => rawCoefficient(map, row, fit.slopes));
  const intercept = rawCoefficient(map, terms.length, fit.slopes, { high: offset, low: atMeans });
  const errors = terms.map((_, row) =>
    Math.sqrt(classicalVariance(fit, { atMeans: 0, slopes: rawContrast(map, row) })),
  );
  const constants = rawContrast(map, terms.length).map((value, j) => value - (fit.means[j] as number));
  const interceptError = Math.sqrt(classicalVariance(fit, { atMeans: 1, slopes: constants }));
  return { fit, coefficients: [intercept, ...slopes], standardErrors: [interceptError, ...errors] };
}

/** Fit through the origin on one variable or more: coefficients of the terms and their standard errors. */
export function fitThroughOrigin(
  terms: readonly Term[],
  variables: readonly number[][],
  response: readonly number[],
): RawFit {
  const columns = variables.map((values) => Float64Array.from(values));
  const ranges = variables.map((values) => ({ min: Math.min(...values), max: Math.max(...values) }));
  const basis = termBasis(terms, ranges, false);
  const indices = Int32Array.from(response, (_, row) => row);
  const fill = termColumns(basis, columns, Float64Array.from(response), 0, indices);
  const segments = chunkSegments(new Int32Array(response.length), indices, indices);
  const outcome = leastSquares(momentsByGroup(terms.length + 1, fill, segments, 1), 'throughOrigin');
  if (!outcome.ok) throw new Error(`not estimable: ${outcome.reason}`);
  const { fit } = outcome;
  const map = rawMap(basis);
  return {
    fit,
    coefficients: terms.map((_, row) => rawCoefficient(map, row, fit.slopes)),
    standardErrors: terms.map((_, row) =>
      Math.sqrt(classicalVariance(fit, { atMeans: 0, slopes: rawContrast(map, row) })),
    ),
  };
}

export function polynomialTerms(degree: number): Term[] {
  return Array.from({ length: degree }, (_, k) => [{ variable: 0, power: k + 1 }]);
}

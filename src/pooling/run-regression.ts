/** The pooled regression: one question, columns of shots, one answer. Pure; the same bits from the same shots. */
import { Refusal } from '../../shared/refusal.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { clusterRobust, informationShares, informativeGroups } from '../statistics/cluster-robust.ts';
import { studentQuantile, studentTwoSided } from '../statistics/distributions.ts';
import {
  type Contrast,
  classicalVariance,
  type LeastSquares,
  type LeastSquaresOutcome,
  leastSquares,
} from '../statistics/least-squares.ts';
import { type Moments, mergeMoments } from '../statistics/moments.ts';
import { type RawMap, rawCoefficient, rawContrast, rawMap } from '../statistics/raw-coefficients.ts';
import { canonicalRegression, termName } from './canonical-specification.ts';
import { coefficientSentence, coefficientUnit } from './coefficient-words.ts';
import type { ShotColumns } from './columns.ts';
import { list } from './figures-in-words.ts';
import { neededVariables, type RegressionDesign, regressionDesign } from './regression-design.ts';
import { regressionWarnings } from './regression-warnings.ts';
import { selectShots } from './select-shots.ts';

/** What an answer is based on, for its provenance. */
export interface AnalysisBase {
  readonly specificationDigest: string;
  readonly dataVersion: string;
  readonly methodVersion: string;
}

/** Estimate and spread of one coefficient in raw powers and SI. */
export interface RawEstimate {
  readonly estimate: number;
  readonly standardError: number;
  readonly degreesOfFreedom: number;
}

/** Power at which the smallest detectable slope is stated. */
const power = 0.8;
/** Below this share of its variance a cluster-robust error is too small to be given: one lab alone carries the rest. */
const leastCaptured = 0.9;

/**
 * Answers the question from the columns.
 * Throws not-estimable with the reason: too few shots, a constant variable, terms that cannot be told apart.
 */
export function runRegression(
  columns: ShotColumns,
  asked: RegressionSpecification,
  base: AnalysisBase,
): RegressionResult {
  const specification = canonicalRegression(asked);
  const selection = selectShots(columns, specification.filter, neededVariables(specification));
  const shots = selection.indices.length;
  if (shots === 0) {
    const reasons = selection.leftOut.map(({ reason, shots: count }) => `${reason}: ${count}`);
    throw new Refusal(
      'not-estimable',
      `no shot takes part${reasons.length > 0 ? ` (left out: ${reasons.join('; ')})` : ''}`,
    );
  }
  const design = regressionDesign(columns, specification, selection.indices);
  const within = specification.labs === 'fixed';
  const fit = fitted(leastSquares(design.labs, within ? 'within' : 'pooled'), specification, shots);
  const map = rawMap(design.basis);
  const rows = within
    ? specification.terms.map((_, row) => row)
    : [specification.terms.length, ...specification.terms.keys()];
  const spread = coefficientSpread(
    fit,
    design,
    specification,
    rows.map((row) => contrastOf(fit, map, row)),
  );
  const estimates: RawEstimate[] = rows.map((row, place) => ({
    estimate: coefficientOf(fit, design, map, row),
    ...(spread.each[place] as Spread),
  }));
  const labNames = columns.groups.lab.names;
  const shares = informationShares(fit, design.labs);
  const labs = design.labs.flatMap((moments, lab) =>
    moments.count === 0
      ? []
      : [
          {
            lab: labNames[lab] as string,
            shots: moments.count,
            coefficients: labSlopes(moments, design, map, specification),
            shareOfInformation: shares[lab] as number,
          },
        ],
  );
  const coefficients = rows.map((row, place) => {
    const term = specification.terms[row] ?? null;
    const figures = inference(estimates[place] as RawEstimate, specification.confidence);
    return {
      term: term === null ? 'intercept' : termName(term),
      unit: coefficientUnit(specification.response, term),
      ...figures,
      sentence: coefficientSentence(figures, {
        response: specification.response,
        terms: specification.terms,
        term,
        confidence: specification.confidence,
        shots,
      }),
    };
  });
  return {
    kind: 'regression',
    specification,
    coefficients,
    labs,
    residualStandardDeviation: Math.sqrt(fit.residualVariance),
    determination: 1 - fit.residualSumOfSquares / fit.totalSumOfSquares,
    degreesOfFreedom: fit.degreesOfFreedom,
    ranges: design.ranges.map(({ variable, min, max, mean }) => ({ variable, min, max, mean })),
    warnings: regressionWarnings({
      columns,
      specification,
      selection,
      design,
      fit,
      labs,
      coefficients,
      alone: spread.alone,
    }),
    provenance: {
      ...base,
      labs: labs.map(({ lab, shots: count }) => ({ lab, shots: count })),
      shots,
      leftOut: selection.leftOut.map(({ reason, shots: count }) => ({ reason, shots: count })),
    },
  };
}

/** The raw coefficient of a row of the map; the last row is the intercept, with the constants put back. */
export function coefficientOf(fit: LeastSquares, design: RegressionDesign, map: RawMap, row: number): number {
  if (row < map.terms) return rawCoefficient(map, row, fit.slopes);
  // Intercept = offset + mean of the response - sum b_j (mean of column j) + sum b_j (constant of column j).
  const centred = Float64Array.from(fit.slopes, (slope) => slope);
  let atMeans = fit.means[map.terms] as number;
  for (let j = 0; j < map.terms; j += 1) atMeans -= (centred[j] as number) * (fit.means[j] as number);
  return rawCoefficient(map, row, centred, { high: design.responseOffset, low: atMeans });
}

function contrastOf(fit: LeastSquares, map: RawMap, row: number): Contrast {
  const slopes = rawContrast(map, row);
  if (row < map.terms) return { atMeans: 0, slopes };
  return { atMeans: 1, slopes: slopes.map((value, j) => value - (fit.means[j] as number)) };
}

interface Spread {
  readonly standardError: number;
  readonly degreesOfFreedom: number;
}

/**
 * Standard errors and degrees of freedom. Cluster-robust errors need at least two labs that bear on every coefficient;
 * where one lab stands alone the classical ones are given instead, and the answer says so.
 */
function coefficientSpread(
  fit: LeastSquares,
  design: RegressionDesign,
  { standardErrors }: RegressionSpecification,
  contrasts: readonly Contrast[],
): { readonly each: readonly Spread[]; readonly alone: boolean } {
  const classical = contrasts.map((contrast) => ({
    standardError: Math.sqrt(classicalVariance(fit, contrast)),
    degreesOfFreedom: fit.degreesOfFreedom,
  }));
  if (standardErrors === 'classical') return { each: classical, alone: false };
  if (informativeGroups(fit, design.labs).length < 2) return { each: classical, alone: true };
  const robust = clusterRobust(fit, design.labs, contrasts);
  if (robust.some(({ captured }) => !(captured >= leastCaptured))) return { each: classical, alone: true };
  return {
    each: robust.map(({ cr2, degreesOfFreedom }) => ({ standardError: Math.sqrt(cr2), degreesOfFreedom })),
    alone: false,
  };
}

/** Interval, p-value and smallest detectable slope from estimate, standard error and degrees of freedom. */
function inference({ estimate, standardError, degreesOfFreedom }: RawEstimate, confidence: number) {
  const quantile = studentQuantile(1 - (1 - confidence) / 2, degreesOfFreedom);
  const reach = quantile * standardError;
  // A fit without residuals has no spread: any slope but 0 is then certain.
  const pValue =
    standardError > 0 ? studentTwoSided(estimate / standardError, degreesOfFreedom) : estimate === 0 ? 1 : 0;
  return {
    estimate,
    standardError,
    degreesOfFreedom,
    interval: { lower: estimate - reach, upper: estimate + reach },
    pValue,
    smallestDetectable: (quantile + studentQuantile(power, degreesOfFreedom)) * standardError,
  };
}

/** Slopes of one lab alone with classical errors; null when the lab has too few shots or cannot tell the terms apart. */
function labSlopes(
  moments: Moments,
  { basis }: RegressionDesign,
  map: RawMap,
  { terms }: RegressionSpecification,
): RegressionResult['labs'][number]['coefficients'] {
  if (moments.count <= basis.terms.length + 1) return null;
  const own = leastSquares([mergeMoments(basis.terms.length + 1, [moments])], 'within');
  if (!own.ok) return null;
  return terms.map((term, row) => ({
    term: termName(term),
    estimate: rawCoefficient(map, row, own.fit.slopes),
    standardError: Math.sqrt(classicalVariance(own.fit, { atMeans: 0, slopes: rawContrast(map, row) })),
  }));
}

function fitted(outcome: LeastSquaresOutcome, specification: RegressionSpecification, shots: number): LeastSquares {
  if (outcome.ok) return outcome.fit;
  const name = (predictor: number) =>
    termName(specification.terms[predictor] as RegressionSpecification['terms'][number]);
  const inLabs = specification.labs === 'fixed' ? ' within every lab' : '';
  switch (outcome.reason) {
    case 'tooFewRows':
      throw new Refusal(
        'not-estimable',
        `${shots === 1 ? '1 shot takes' : `${shots} shots take`} part; this question needs at least ${outcome.needed}: ask with fewer terms or a wider filter`,
      );
    case 'constantResponse':
      throw new Refusal('not-estimable', `${specification.response} is constant${inLabs}: there is nothing to explain`);
    case 'constantPredictor':
      throw new Refusal(
        'not-estimable',
        `${name(outcome.predictor)} is constant${inLabs} among the ${shots} shots: its slope cannot be estimated`,
      );
    case 'collinear':
      throw new Refusal(
        'not-estimable',
        `${name(outcome.predictor)} is a linear combination of ${list(outcome.others.map(name))}${inLabs} (1 - R2 below 1e-8): leave one of them out`,
      );
  }
}

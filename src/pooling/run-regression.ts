/** The pooled regression: one question, columns of shots, one answer. Pure; the same bits from the same shots. */
import { quantities } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { varianceInterval } from '../statistics/mixed-model.ts';
import { canonicalRegression, termName } from './canonical-specification.ts';
import { checkRegression } from './check-regression.ts';
import { coefficientSentence, coefficientUnit } from './coefficient-words.ts';
import type { ShotColumns } from './columns.ts';
import { correctErrors } from './correct-errors.ts';
import { forestRows } from './forest-rows.ts';
import { type Inference, infer, pValueOf, smallestDetectable } from './infer.ts';
import { labSlopes } from './lab-slopes.ts';
import { regressionCurve } from './regression-curve.ts';
import { neededVariables, regressionDesign } from './regression-design.ts';
import { coefficientOf, contrastOf, fitRegression, type RegressionModel, rowsOf } from './regression-model.ts';
import { regressionWarnings } from './regression-warnings.ts';
import { selectShots } from './select-shots.ts';
import { type LabSynthesis, synthesiseLabs } from './synthesise-labs.ts';

/** What an answer is based on, for its provenance. */
export interface AnalysisBase {
  readonly specificationDigest: string;
  readonly dataVersion: string;
  readonly methodVersion: string;
}

/**
 * Answers the question from the columns.
 * Throws not-estimable with the reason: too few shots, a constant variable, terms that cannot be told apart; and
 * request-invalid for choices that do not go together.
 */
export function runRegression(
  columns: ShotColumns,
  asked: RegressionSpecification,
  base: AnalysisBase,
): RegressionResult {
  const specification = canonicalRegression(asked);
  checkRegression(specification);
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
  const model = fitRegression(design, specification, shots);
  const slopes = labSlopes(design, model, specification, columns.groups.lab.names);
  const synthesis = synthesiseLabs(slopes, specification);
  const rows = rowsOf(model, specification);
  const figures =
    specification.labs === 'synthesis' ? synthesised(synthesis) : pooled(model, design, rows, specification.confidence);
  const coefficients = rows.map((row, place) => {
    const term = specification.terms[row] ?? null;
    const own = figures[place] as Inference;
    const detectable = smallestDetectable(own, specification.confidence);
    return {
      term: term === null ? 'intercept' : termName(term),
      unit: coefficientUnit(specification.response, term),
      ...own,
      pValue: pValueOf(own),
      smallestDetectable: detectable,
      varianceInflation: term === null ? null : (model.fit.varianceInflation[row] as number),
      sentence: coefficientSentence(
        { ...own, smallestDetectable: detectable },
        {
          response: specification.response,
          terms: specification.terms,
          term,
          confidence: specification.confidence,
          shots,
        },
      ),
    };
  });
  const labs = slopes.map(({ lab, shots: count, own, shareOfInformation, without }) => ({
    lab,
    shots: count,
    coefficients:
      own?.map((slope, place) => ({ ...slope, weight: synthesis.weights[place]?.get(lab) ?? null })) ?? null,
    shareOfInformation,
    without,
  }));
  const measurementError = correctErrors(columns, selection.indices, design, model, specification);
  const curve = regressionCurve(columns, selection.indices, design, model, specification);
  const variances = varianceComponentsOf(model, specification);
  const answer = { specification, coefficients, labs, synthesis: [...synthesis.rows] };
  return {
    kind: 'regression',
    specification,
    estimator: estimatorWords(specification, model),
    coefficients,
    labs,
    synthesis: answer.synthesis,
    measurementError,
    varianceComponents: variances,
    ...fitQuality(model, variances),
    ranges: design.ranges.map(({ variable, min, max, mean }) => ({ variable, min, max, mean })),
    curve,
    forest: forestRows(answer),
    warnings: regressionWarnings({
      columns,
      selection,
      design,
      model,
      slopes,
      measurementError,
      curve,
      variances,
      ...answer,
    }),
    provenance: {
      ...base,
      labs: labs.map(({ lab, shots: count }) => ({ lab, shots: count })),
      shots,
      leftOut: selection.leftOut.map(({ reason, shots: count }) => ({ reason, shots: count })),
    },
  };
}

function pooled(
  model: RegressionModel,
  design: Parameters<typeof coefficientOf>[1],
  rows: readonly number[],
  confidence: number,
): Inference[] {
  const spreads = model.spread(rows.map((row) => contrastOf(model, row)));
  return rows.map((row, place) =>
    infer(coefficientOf(model, design, row), spreads[place] as (typeof spreads)[number], confidence),
  );
}

function synthesised({ rows }: LabSynthesis): Inference[] {
  if (rows.length === 0 || rows.some(({ interval }) => interval === null)) {
    throw new Refusal(
      'not-estimable',
      'the synthesis needs at least three labs that give slopes of their own: ask with labs fixed, which shows each lab',
    );
  }
  return rows.map(({ estimate, standardError, degreesOfFreedom, interval }) => ({
    estimate,
    standardError,
    degreesOfFreedom,
    interval: interval as NonNullable<typeof interval>,
  }));
}

/** Standard deviations with profile intervals, in the unit of the response. */
function varianceComponentsOf(
  { mixed }: RegressionModel,
  { response, confidence }: RegressionSpecification,
): RegressionResult['varianceComponents'] {
  if (mixed === null) return null;
  return {
    criterion: mixed.criterion,
    converged: mixed.converged,
    components: mixed.variances.map(({ name, variance }, which) => {
      const { lower, upper } = varianceInterval(mixed, which, confidence);
      return {
        component: name,
        unit: quantities[response].siUnit,
        standardDeviation: Math.sqrt(variance),
        interval: { lower: Math.sqrt(lower), upper: upper === null ? null : Math.sqrt(upper) },
      };
    }),
  };
}

/** With random intercepts the share of the fixed part (Nakagawa & Schielzeth 2013, Methods Ecol. Evol. 4:133). */
function fitQuality({ fit, mixed, slopes }: RegressionModel, variances: RegressionResult['varianceComponents']) {
  const plain = {
    residualStandardDeviation: Math.sqrt(fit.residualVariance),
    determination: 1 - fit.residualSumOfSquares / fit.totalSumOfSquares,
    degreesOfFreedom: fit.degreesOfFreedom,
  };
  if (mixed === null || variances === null) return plain;
  // b'S_xx b = |C'D b|^2.
  const { size, lower } = fit.factor;
  let explained = 0;
  for (let k = 0; k < size; k += 1) {
    let part = 0;
    for (let j = k; j < size; j += 1) {
      part += (lower[j * size + k] as number) * (fit.scales[j] as number) * (slopes[j] as number);
    }
    explained += part * part;
  }
  explained /= fit.count - 1;
  const random = variances.components.reduce(
    (sum, { standardDeviation }) => sum + standardDeviation * standardDeviation,
    0,
  );
  return {
    ...plain,
    residualStandardDeviation: variances.components[0]?.standardDeviation ?? plain.residualStandardDeviation,
    determination: explained / (explained + random),
  };
}

function estimatorWords(
  { labs, standardErrors, clusterBy, intercept }: RegressionSpecification,
  { alone }: RegressionModel,
): string {
  switch (labs) {
    case 'randomIntercept':
      return 'Random lab intercepts by restricted maximum likelihood; standard errors and degrees of freedom of Kenward and Roger.';
    case 'sessionsInLabs':
      return 'Random intercepts of labs and of sessions in labs by restricted maximum likelihood; standard errors and degrees of freedom of Kenward and Roger.';
    case 'synthesis':
      return "Mean of the labs' own slopes, which may differ between labs: between-lab variance by REML, standard errors of Hartung and Knapp.";
    default: {
      const levels = intercept
        ? labs === 'fixed'
          ? 'one intercept a lab'
          : 'one intercept for all labs'
        : 'through the origin';
      const errors =
        standardErrors === 'classical' || alone
          ? 'classical standard errors'
          : `cluster-robust standard errors (CR2 by ${clusterBy}) with Satterthwaite degrees of freedom`;
      return `Least squares, ${levels}; ${errors}.`;
    }
  }
}

/** The pooled regression: one question, columns of shots, one answer. Pure; the same bits from the same shots. */
import { quantities } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { canonicalRegression, termName } from './canonical-specification.ts';
import { checkRegression } from './check-regression.ts';
import { coefficientSentence, coefficientUnit } from './coefficient-words.ts';
import type { ShotColumns } from './columns.ts';
import { commonUnits } from './common-errors.ts';
import { correctErrors } from './correct-errors.ts';
import { errorSums } from './error-sums.ts';
import { estimatorWords } from './estimator-words.ts';
import { fitQuality, unexplained, varianceComponentsOf } from './fit-quality.ts';
import { forestRows } from './forest-rows.ts';
import { holmOfTerms } from './holm.ts';
import { type Inference, infer, pValueOf, smallestDetectable } from './infer.ts';
import { influentialShots } from './influential-shots.ts';
import { jointTest, labLevelTest } from './joint-words.ts';
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
  const { indices } = selection;
  const variables = neededVariables(specification);
  const design = regressionDesign(columns, specification, indices);
  const sums = errorSums(columns, indices, design.stretches, variables);
  const units = commonUnits(design, specification.response, sums);
  const model = fitRegression(design, specification, shots, units);
  const slopes = labSlopes(design, model, specification, columns.groups.lab.names, units);
  const synthesis = synthesiseLabs(slopes, specification);
  const rows = rowsOf(model, specification);
  const figures =
    specification.labs === 'synthesis' ? synthesised(synthesis) : pooled(model, design, rows, specification.confidence);
  const pValues = figures.map(pValueOf);
  const adjusted = holmOfTerms(rows, pValues, specification);
  const coefficients = rows.map((row, place) => {
    const term = specification.terms[row] ?? null;
    const own = figures[place] as Inference;
    const detectable = smallestDetectable(own, specification.confidence);
    return {
      term: term === null ? 'intercept' : termName(term),
      unit: coefficientUnit(specification.response, term),
      ...own,
      pValue: pValues[place] as number,
      holmPValue: adjusted[place] ?? null,
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
  const measurementError = correctErrors(columns, indices, sums, units, design, model, specification);
  const curve = regressionCurve(columns, indices, design, model, specification);
  const variances = varianceComponentsOf(model, specification);
  const left = unexplained(model, sums, specification);
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
    jointTest: jointTest(model, specification),
    labLevels: labLevelTest(design, specification),
    influence: influentialShots(columns, indices, design, model, specification),
    ...fitQuality(model, variances, specification),
    unexplained: left,
    ranges: design.ranges.map(({ variable, min, max, mean, basis }) => ({
      variable,
      unit: quantities[variable].siUnit,
      min,
      max,
      mean,
      basis,
    })),
    curve,
    forest: forestRows(answer),
    warnings: regressionWarnings({
      columns,
      selection,
      sums,
      design,
      model,
      slopes,
      measurementError,
      curve,
      variances,
      unexplained: left,
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
  return rows.map(({ estimate, standardError, statisticalError, commonError, degreesOfFreedom, interval }) => ({
    estimate,
    standardError,
    statisticalError,
    commonError,
    degreesOfFreedom,
    interval: interval as NonNullable<typeof interval>,
  }));
}

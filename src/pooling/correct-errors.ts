/** Reliability of the predictors and slopes corrected for the stated uncertainties of each shot. */
import type { VariableName } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { correctedMovement } from '../statistics/common-errors.ts';
import { type CorrectedFit, errorsInVariables } from '../statistics/errors-in-variables.ts';
import type { Contrast } from '../statistics/least-squares.ts';
import type { Moments } from '../statistics/moments.ts';
import { rawCoefficient, rawContrast } from '../statistics/raw-coefficients.ts';
import { bilinear } from '../statistics/symmetric-inverse.ts';
import { termName } from './canonical-specification.ts';
import { coefficientSentence, coefficientUnit } from './coefficient-words.ts';
import type { ShotColumns } from './columns.ts';
import { type CommonUnit, type CommonVariance, commonVariances } from './common-errors.ts';
import type { ErrorSum, ErrorSums } from './error-sums.ts';
import { list, percent, rounded } from './figures-in-words.ts';
import { type Inference, infer, smallestDetectable } from './infer.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';
import { everythingHeld, nothingHeld, totalSpread } from './total-spread.ts';
import { yorkOfShots } from './york-of-shots.ts';

/**
 * Null when the question is not one of single variables with lab levels or one level, or no uncertainty is known.
 * Throws not-estimable when the correction is asked for and the errors are as large as the spread.
 */
export function correctErrors(
  columns: ShotColumns,
  indices: Int32Array,
  sums: ErrorSums,
  units: readonly CommonUnit[],
  design: RegressionDesign,
  model: RegressionModel,
  specification: RegressionSpecification,
): RegressionResult['measurementError'] {
  const { terms, labs, response, confidence } = specification;
  const plain = terms.length > 0 && terms.every((term) => term.length === 1 && term[0]?.power === 1);
  if (!plain || !specification.intercept || (labs !== 'fixed' && labs !== 'ignored')) return null;
  const variables = [...terms.map((term) => (term[0] as { variable: VariableName }).variable), response];
  const errors = errorCovariances(sums, variables, design);
  if (errors === null) return null;
  const outcome = errorsInVariables(model.fit, design.labs, errors);
  const asked = specification.measurementError === 'corrected';
  const reliabilities = outcome.ok ? outcome.fit.reliabilities : outcome.reliabilities;
  const worstReliability = outcome.ok ? outcome.fit.worstReliability : outcome.worstReliability;
  if (asked && !outcome.ok) {
    const parts = terms.map((term, place) => `${termName(term)} ${rounded(reliabilities[place] as number, 2)}`);
    throw new Refusal(
      'not-estimable',
      `measurement error is as large as the spread of the predictors, or of a combination of them (reliability ${list(parts)}): no correction can be given`,
    );
  }
  const contrasts = terms.map((_, row) => ({ atMeans: 0, slopes: rawContrast(model.map, row) }));
  const figures =
    asked && outcome.ok ? correctedFigures(outcome.fit, contrasts, units, design, model, specification) : null;
  return {
    worstReliability,
    terms: terms.map((term, row) => {
      const reliability = reliabilities[row] as number;
      const corrected = figures?.[row] ?? null;
      const sentence =
        corrected === null
          ? null
          : coefficientSentence(
              { ...corrected, smallestDetectable: smallestDetectable(corrected, confidence) },
              { response, terms, term, confidence, shots: indices.length },
            );
      return {
        term: termName(term),
        unit: coefficientUnit(response, term),
        naive: rawCoefficient(model.map, row, model.slopes),
        reliability,
        sentence: reliabilityWords(termName(term), reliability, labs === 'fixed'),
        corrected:
          corrected === null ? null : { ...corrected, sentence: `Corrected for measurement error: ${sentence}` },
      };
    }),
    york: asked ? yorkOfShots(columns, indices, model, specification) : null,
  };
}

function reliabilityWords(term: string, reliability: number, within: boolean): string {
  const where = within ? ' within labs' : '';
  return reliability <= 0
    ? `The spread of ${term}${where} is no larger than its stated measurement error.`
    : `${percent(reliability)} of the spread of ${term}${where} is no measurement error.`;
}

function correctedFigures(
  fit: CorrectedFit,
  contrasts: readonly Contrast[],
  units: readonly CommonUnit[],
  design: RegressionDesign,
  model: RegressionModel,
  { standardErrors, confidence, clusterBy }: RegressionSpecification,
): Inference[] {
  const byLab = standardErrors === 'clusterRobust' && fit.clustered !== null && !model.alone;
  const common = commonVariances(
    units,
    ({ lab, moments }, perturbation) =>
      correctedMovement(model.fit, fit, design.labs[lab] as Moments, moments, perturbation),
    contrasts,
  );
  return contrasts.map((contrast, row) => {
    const error = (matrix: Float64Array) => Math.sqrt(Math.max(0, bilinear(contrast.slopes, matrix, contrast.slopes)));
    const classicalError = error(fit.classical);
    const spread = totalSpread(
      {
        standardError: byLab ? error(fit.clustered as Float64Array) : classicalError,
        degreesOfFreedom: byLab ? fit.clusterDegrees : model.fit.degreesOfFreedom,
        classicalError,
      },
      common[row] as CommonVariance,
      byLab && clusterBy === 'lab' ? everythingHeld : nothingHeld,
    );
    return infer(rawCoefficient(model.map, row, fit.slopes), spread, confidence);
  });
}

/**
 * For each lab the mean error covariance of the basis columns and the response, each shot's own: what shots of a rig have in
 * common moves them together and does not shrink slopes. Null when no uncertainty is known.
 */
function errorCovariances(
  sums: ErrorSums,
  variables: readonly VariableName[],
  { basis, predictors, labs }: RegressionDesign,
): Float64Array[] | null {
  const width = variables.length;
  // A linear column is (x - c) / h; the response keeps its unit.
  const scales = variables.map((variable, place) =>
    place === width - 1 ? 1 : (basis.halfWidths[predictors.indexOf(variable)] as number),
  );
  const covariances = labs.map(() => new Float64Array(width * width));
  let any = false;
  for (let i = 0; i < width; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      const byLab = covarianceOf(sums, variables[i] as VariableName, variables[j] as VariableName);
      byLab?.forEach(({ known, own }, lab) => {
        if (known === 0) return;
        any = true;
        const value = own / known / (scales[i] as number) / (scales[j] as number);
        const matrix = covariances[lab] as Float64Array;
        matrix[i * width + j] = value;
        matrix[j * width + i] = value;
      });
    }
  }
  return any ? covariances : null;
}

/** Error variance or covariance by lab; null where none is ever stated. */
function covarianceOf(sums: ErrorSums, first: VariableName, second: VariableName): readonly ErrorSum[] | null {
  if (first === second) return sums.of(first);
  const pair = [first, second];
  return pair.includes('cueSpeed') && pair.includes('cueAcceleration') ? sums.speedAndAcceleration : null;
}

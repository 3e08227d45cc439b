/** Reliability of the predictors and slopes corrected for the stated uncertainties of each shot. */
import type { VariableName } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { errorsInVariables } from '../statistics/errors-in-variables.ts';
import { rawCoefficient, rawContrast } from '../statistics/raw-coefficients.ts';
import { bilinear } from '../statistics/symmetric-inverse.ts';
import { termName } from './canonical-specification.ts';
import { coefficientSentence, coefficientUnit } from './coefficient-words.ts';
import { type ShotColumns, type UncertainName, uncertainNames } from './columns.ts';
import { list, rounded } from './figures-in-words.ts';
import { infer, smallestDetectable } from './infer.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';

/**
 * Null when the question is not one of single variables with lab levels or one level, or no uncertainty is known.
 * Throws not-estimable when the correction is asked for and the errors are as large as the spread.
 */
export function correctErrors(
  columns: ShotColumns,
  indices: Int32Array,
  design: RegressionDesign,
  model: RegressionModel,
  specification: RegressionSpecification,
): RegressionResult['measurementError'] {
  const { terms, labs, response, confidence } = specification;
  const plain = terms.length > 0 && terms.every((term) => term.length === 1 && term[0]?.power === 1);
  if (!plain || !specification.intercept || (labs !== 'fixed' && labs !== 'ignored')) return null;
  const variables = [...terms.map((term) => (term[0] as { variable: VariableName }).variable), response];
  const errors = errorCovariances(columns, indices, variables, design);
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
  return {
    worstReliability,
    terms: terms.map((term, row) => {
      const naive = rawCoefficient(model.map, row, model.slopes);
      const unit = coefficientUnit(response, term);
      const base = { term: termName(term), unit, naive, reliability: reliabilities[row] as number };
      if (!asked || !outcome.ok) return { ...base, corrected: null };
      const { fit } = outcome;
      const byLab = specification.standardErrors === 'clusterRobust' && fit.clustered !== null && !model.alone;
      const contrast = rawContrast(model.map, row);
      const variance = bilinear(contrast, byLab ? (fit.clustered as Float64Array) : fit.classical, contrast);
      const spread = {
        standardError: Math.sqrt(Math.max(0, variance)),
        degreesOfFreedom: byLab ? fit.clusterDegrees : model.fit.degreesOfFreedom,
      };
      const figures = infer(rawCoefficient(model.map, row, fit.slopes), spread, confidence);
      const sentence = coefficientSentence(
        { ...figures, smallestDetectable: smallestDetectable(figures, confidence) },
        { response, terms, term, confidence, shots: indices.length },
      );
      return { ...base, corrected: { ...figures, sentence: `Corrected for measurement error: ${sentence}` } };
    }),
  };
}

/** For each lab the mean error covariance of the basis columns and the response; null when no uncertainty is known. */
function errorCovariances(
  columns: ShotColumns,
  indices: Int32Array,
  variables: readonly VariableName[],
  { basis, predictors, labs }: RegressionDesign,
): Float64Array[] | null {
  const width = variables.length;
  // A linear column is (x - c) / h; the response keeps its unit.
  const scales = variables.map((variable, place) =>
    place === width - 1 ? 1 : (basis.halfWidths[predictors.indexOf(variable)] as number),
  );
  const codes = columns.groups.lab.codes;
  const sums = labs.map(() => new Float64Array(width * width));
  const known = labs.map(() => new Int32Array(width * width));
  let any = false;
  for (let i = 0; i < width; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      const covariance = covarianceOf(columns, variables[i] as VariableName, variables[j] as VariableName);
      if (covariance === null) continue;
      for (const row of indices) {
        const value = covariance(row);
        if (Number.isNaN(value)) continue;
        const lab = codes[row] as number;
        const [sum, count] = [sums[lab] as Float64Array, known[lab] as Int32Array];
        sum[i * width + j] = (sum[i * width + j] as number) + value / (scales[i] as number) / (scales[j] as number);
        count[i * width + j] = (count[i * width + j] as number) + 1;
        any = true;
      }
    }
  }
  if (!any) return null;
  return sums.map((sum, lab) =>
    sum.map((_, at) => {
      const [i, j] = [Math.floor(at / width), at % width];
      const lower = i >= j ? at : j * width + i;
      const count = (known[lab] as Int32Array)[lower] as number;
      return count === 0 ? 0 : (sum[lower] as number) / count;
    }),
  );
}

/** Error covariance of two variables of one shot; null where none is ever stated. */
function covarianceOf(
  columns: ShotColumns,
  first: VariableName,
  second: VariableName,
): ((row: number) => number) | null {
  if (first === second) {
    if (!(uncertainNames as readonly string[]).includes(first)) return null;
    const errors = columns.uncertainties[first as UncertainName];
    return (row) => (errors[row] as number) * (errors[row] as number);
  }
  const pair = [first, second];
  if (!pair.includes('cueSpeed') || !pair.includes('cueAcceleration')) return null;
  return (row) => columns.covarianceSpeedAcceleration[row] as number;
}

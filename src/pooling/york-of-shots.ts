/** York's line through shots that err in both variables, for one term with labs ignored. */
import { quantities } from '../../shared/quantities.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { rawCoefficient } from '../statistics/raw-coefficients.ts';
import { yorkLine } from '../statistics/york-line.ts';
import { coefficientSentence, coefficientUnit } from './coefficient-words.ts';
import { type CommonPartName, commonPartNames, commonParts, type ShotColumns } from './columns.ts';
import { isUncertain } from './error-sums.ts';
import { rounded } from './figures-in-words.ts';
import { infer, smallestDetectable } from './infer.ts';
import type { RegressionModel } from './regression-model.ts';

/**
 * Null unless labs are ignored, the question has one term that is one variable, and both variables carry an uncertainty for
 * three shots or more; shots without one are left out of this line.
 */
export function yorkOfShots(
  columns: ShotColumns,
  indices: Int32Array,
  model: RegressionModel,
  { terms, labs, response, confidence }: RegressionSpecification,
): NonNullable<RegressionResult['measurementError']>['york'] {
  const term = terms[0];
  const variable = term?.[0]?.variable;
  if (labs !== 'ignored' || terms.length !== 1 || term === undefined || variable === undefined) return null;
  if (!isUncertain(variable) || !isUncertain(response)) return null;
  const [xOwn, yOwn] = [ownErrors(columns, variable), ownErrors(columns, response)];
  const rows = indices.filter((row) => xOwn(row) > 0 && yOwn(row) > 0);
  const pair: readonly string[] = [variable, response];
  const together = pair.includes('cueSpeed') && pair.includes('cueAcceleration');
  const line = yorkLine(
    {
      x: Float64Array.from(rows, (row) => columns.variables[variable][row] as number),
      y: Float64Array.from(rows, (row) => columns.variables[response][row] as number),
      xError: Float64Array.from(rows, xOwn),
      yError: Float64Array.from(rows, yOwn),
      covariance: together ? Float64Array.from(rows, (row) => ownCovariance(columns, row)) : null,
    },
    rawCoefficient(model.map, 0, model.slopes),
  );
  if (line === null) return null;
  // Scatter beyond the stated errors widens the errors of the line, less than stated never narrows them.
  const widening = Math.sqrt(Math.max(1, line.reducedChiSquare));
  const standardError = line.slopeError * widening;
  const spread = { standardError, statisticalError: standardError, commonError: 0, degreesOfFreedom: rows.length - 2 };
  const figures = infer(line.slope, spread, confidence);
  const sentence = coefficientSentence(
    { ...figures, smallestDetectable: smallestDetectable(figures, confidence) },
    { response, terms, term, confidence, shots: rows.length },
  );
  return {
    unit: coefficientUnit(response, term),
    ...figures,
    intercept: line.intercept,
    interceptUnit: quantities[response].siUnit,
    interceptError: line.interceptError * widening,
    reducedChiSquare: line.reducedChiSquare,
    sentence: `Line through ${rows.length} shots by their stated errors in both variables: ${sentence} The shots scatter ${rounded(Math.sqrt(line.reducedChiSquare), 2)} times as far as stated${widening > 1 ? ', which is in the interval' : ''}; labs are ignored.`,
  };
}

/** Standard uncertainty of a shot without what it shares; NaN where none is stated. */
function ownErrors(columns: ShotColumns, variable: Parameters<typeof isUncertain>[0]): (row: number) => number {
  if (!isUncertain(variable)) return () => Number.NaN;
  const errors = columns.uncertainties[variable];
  const parts = commonPartNames
    .filter((name: CommonPartName) => commonParts[name].of === variable)
    .map((name) => columns.commonUncertainties[name]);
  return (row) => {
    let square = (errors[row] as number) * (errors[row] as number);
    for (const part of parts) {
      const common = part[row] as number;
      if (!Number.isNaN(common)) square -= common * common;
    }
    return Math.sqrt(square);
  };
}

/** Error covariance of speed and acceleration of one shot without what the rig shares; 0 where none is stated. */
function ownCovariance(columns: ShotColumns, row: number): number {
  const { cueSpeedRig, cueAccelerationRig } = columns.commonUncertainties;
  const product = (cueSpeedRig[row] as number) * (cueAccelerationRig[row] as number);
  const sign = (columns.variables.cueAcceleration[row] as number) < 0 ? -1 : 1;
  const own = (columns.covarianceSpeedAcceleration[row] as number) - (product > 0 ? sign * product : 0);
  return Number.isNaN(own) ? 0 : own;
}

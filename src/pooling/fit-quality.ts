/** How well the model fits: residual spread, R squared, variance components, and what is left beside stated uncertainty. */
import { quantities } from '../../shared/quantities.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { varianceInterval } from '../statistics/mixed-model.ts';
import type { ErrorSums } from './error-sums.ts';
import { decimalsFor, displayFactor, displayUnit, figure, percent, rounded } from './figures-in-words.ts';
import type { RegressionModel } from './regression-model.ts';

type Variances = RegressionResult['varianceComponents'];

/** Standard deviations with profile intervals, in the unit of the response. */
export function varianceComponentsOf(
  { mixed }: RegressionModel,
  { response, confidence }: RegressionSpecification,
): Variances {
  if (mixed === null) return null;
  return {
    criterion: mixed.criterion,
    converged: mixed.converged,
    components: mixed.variances.map(({ name, variance }, which) => {
      const { lower, upper } = varianceInterval(mixed, which, confidence);
      const standardDeviation = Math.sqrt(variance);
      const interval = { lower: Math.sqrt(lower), upper: upper === null ? null : Math.sqrt(upper) };
      const write = writer(response, standardDeviation > 0 ? standardDeviation / 10 : (interval.upper ?? 1) / 10);
      const what = name === 'residual' ? 'Shots of one lab scatter about the fit' : `Levels of ${name}s differ`;
      const end = interval.upper === null ? 'without an upper limit' : `to ${write(interval.upper, true)}`;
      return {
        component: name,
        unit: quantities[response].siUnit,
        standardDeviation,
        interval,
        sentence: `${what} with a standard deviation of ${write(standardDeviation, true)} (${rounded(confidence * 100, 4)} % interval ${write(interval.lower, false)} ${end}).`,
      };
    }),
  };
}

/** With random intercepts the share of the fixed part (Nakagawa & Schielzeth 2013, Methods Ecol. Evol. 4:133). */
export function fitQuality(
  model: RegressionModel,
  variances: Variances,
  { response, labs, terms, intercept }: RegressionSpecification,
): Pick<RegressionResult, 'responseUnit' | 'residualStandardDeviation' | 'fit' | 'determination' | 'degreesOfFreedom'> {
  const { fit } = model;
  const random = variances === null ? null : randomShare(model, variances);
  const residualStandardDeviation = random?.residual ?? Math.sqrt(fit.residualVariance);
  const determination = random?.determination ?? 1 - fit.residualSumOfSquares / fit.totalSumOfSquares;
  const { degreesOfFreedom } = fit;
  const where = !intercept ? ' about zero' : labs === 'fixed' || labs === 'synthesis' ? ' within labs' : '';
  const write = writer(response, residualStandardDeviation / 10);
  const share =
    terms.length === 0
      ? ''
      : `; the terms account for ${percent(Math.max(0, determination))} of the variance${where} (R squared)`;
  return {
    responseUnit: quantities[response].siUnit,
    residualStandardDeviation,
    fit: `One shot scatters about the fit with a standard deviation of ${write(residualStandardDeviation, true)} (${degreesOfFreedom} degrees of freedom)${share}.`,
    determination,
    degreesOfFreedom,
  };
}

function randomShare({ fit, slopes }: RegressionModel, variances: NonNullable<Variances>) {
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
    residual: variances.components[0]?.standardDeviation ?? Math.sqrt(fit.residualVariance),
    determination: explained / (explained + random),
  };
}

/** Residual variance less the mean of the stated own variance of the response; null where none is stated. */
export function unexplained(
  { fit }: RegressionModel,
  sums: ErrorSums,
  { response }: RegressionSpecification,
): RegressionResult['unexplained'] {
  let known = 0;
  let own = 0;
  for (const lab of sums.of(response) ?? []) {
    known += lab.known;
    own += lab.own;
  }
  if (known === 0) return null;
  const stated = own / known;
  const left = fit.residualVariance - stated;
  const write = writer(response, Math.sqrt(fit.residualVariance) / 10);
  const { label, siUnit } = quantities[response];
  return {
    unit: siUnit,
    stated: Math.sqrt(stated),
    standardDeviation: left >= 0 ? Math.sqrt(left) : null,
    sentence:
      left >= 0
        ? `Of the scatter, the stated uncertainty of ${label} accounts for ${write(Math.sqrt(stated), true)}; ${write(Math.sqrt(left), true)} is left unexplained.`
        : `The stated uncertainty of ${label} (${write(Math.sqrt(stated), true)}) is larger than the scatter about the fit (${write(Math.sqrt(fit.residualVariance), true)}): it is stated too large, or the fit follows the noise.`,
  };
}

function writer(response: RegressionSpecification['response'], step: number) {
  const factor = displayFactor(response);
  const decimals = decimalsFor(Math.abs(step * factor) * 10);
  const unit = displayUnit(response);
  return (value: number, named: boolean) =>
    `${figure(value * factor, decimals)}${named && unit !== '' ? ` ${unit}` : ''}`;
}

/**
 * Two-stage synthesis: the mean of the labs' own effects y_g with variances v_g, when true effects vary between labs
 * with variance tau2 (random effects).
 */
import {
  type BetweenVarianceMethod,
  betweenVariance,
  betweenVarianceInterval,
  weightedMean,
} from './between-variance.ts';
import { chiSquareUpper, studentQuantile } from './distributions.ts';

export interface Interval {
  readonly lower: number;
  readonly upper: number;
}

/** The mean alone, without what takes further searches. */
export interface LabMean {
  readonly method: BetweenVarianceMethod;
  readonly labs: number;
  readonly estimate: number;
  /** 1 / sqrt(sum w): right when tau2 is known. */
  readonly normalError: number;
  /** Hartung & Knapp 2001 (Stat. Med. 20:3875), with k - 1 degrees of freedom. */
  readonly hartungKnappError: number;
  /** sum w (y - mu)^2 / (k - 1): Hartung-Knapp variance over the plain one. */
  readonly ratio: number;
  /** The same never below the plain error (Roever, Knapp & Friede 2015, BMC Med. Res. Methodol. 15:99). */
  readonly modifiedError: number;
  readonly degreesOfFreedom: number;
  readonly tau2: number;
  /** tau2 / (tau2 + typical variance) and its inverse complement (Higgins & Thompson 2002, Stat. Med. 21:1539). */
  readonly inconsistency: number;
  readonly excess: number;
  /** Cochran's Q. */
  readonly heterogeneity: number;
  /** Weight of each lab in the mean; they sum to 1. */
  readonly weights: readonly number[];
}

export interface Synthesis extends LabMean {
  /** Q profile. */
  readonly tau2Interval: Interval;
  /** Upper p-value of Q. */
  readonly heterogeneityP: number;
  /** Effect of a further lab (Higgins, Thompson & Spiegelhalter 2009): t with k - 2, plain error; null below three labs. */
  readonly prediction: Interval | null;
  /** The same with the Hartung-Knapp error and t with k - 1 (Partlett & Riley 2017, Stat. Med. 36:301). */
  readonly hartungKnappPrediction: Interval;
}

/** @param estimates, variances of k >= 2 labs, variances positive */
export function labMean(
  estimates: readonly number[],
  variances: readonly number[],
  method: BetweenVarianceMethod,
): LabMean {
  const labs = estimates.length;
  const tau2 = betweenVariance(estimates, variances, method);
  const { mean, totalWeight, heterogeneity: spread } = weightedMean(estimates, variances, tau2);
  const fixed = weightedMean(estimates, variances, 0);
  const normalError = 1 / Math.sqrt(totalWeight);
  const degreesOfFreedom = labs - 1;
  const ratio = spread / degreesOfFreedom;
  const hartungKnappError = normalError * Math.sqrt(ratio);
  const typical =
    (degreesOfFreedom * fixed.totalWeight) / (fixed.totalWeight * fixed.totalWeight - fixed.squaredWeight);
  return {
    method,
    labs,
    estimate: mean,
    normalError,
    hartungKnappError,
    ratio,
    modifiedError: normalError * Math.sqrt(Math.max(1, ratio)),
    degreesOfFreedom,
    tau2,
    inconsistency: tau2 / (tau2 + typical),
    excess: (tau2 + typical) / typical,
    heterogeneity: fixed.heterogeneity,
    weights: variances.map((variance) => 1 / (variance + tau2) / totalWeight),
  };
}

/** The mean with the interval of tau2, the test of heterogeneity and prediction intervals. */
export function synthesis(
  estimates: readonly number[],
  variances: readonly number[],
  method: BetweenVarianceMethod,
  confidence: number,
): Synthesis {
  const mean = labMean(estimates, variances, method);
  const { labs, tau2, estimate, normalError, hartungKnappError, heterogeneity, degreesOfFreedom } = mean;
  const probability = 1 - (1 - confidence) / 2;
  const around = (degrees: number, error: number): Interval => {
    const reach = studentQuantile(probability, degrees) * Math.sqrt(tau2 + error * error);
    return { lower: estimate - reach, upper: estimate + reach };
  };
  return {
    ...mean,
    tau2Interval: betweenVarianceInterval(estimates, variances, confidence),
    heterogeneityP: chiSquareUpper(heterogeneity, degreesOfFreedom),
    prediction: labs < 3 ? null : around(labs - 2, normalError),
    hartungKnappPrediction: around(labs - 1, hartungKnappError),
  };
}

/** From an estimate and its spread to interval, p-value and the slope that would have been seen. */
import { studentQuantile, studentTwoSided } from '../statistics/distributions.ts';
import type { Spread } from './total-spread.ts';

export interface Inference extends Spread {
  readonly estimate: number;
  readonly interval: { readonly lower: number; readonly upper: number };
}

/** Power at which the smallest detectable slope is stated. */
const power = 0.8;

/** The interval is that of the total. */
export function infer(
  estimate: number,
  { standardError, degreesOfFreedom, statisticalError, commonError }: Spread,
  confidence: number,
): Inference {
  const reach = studentQuantile(1 - (1 - confidence) / 2, degreesOfFreedom) * standardError;
  return {
    estimate,
    standardError,
    statisticalError,
    commonError,
    degreesOfFreedom,
    interval: { lower: estimate - reach, upper: estimate + reach },
  };
}

/** Two-sided. A fit without residuals has no spread: any slope but 0 is then certain. */
export function pValueOf({
  estimate,
  standardError,
  degreesOfFreedom,
}: Pick<Inference, 'estimate' | 'standardError' | 'degreesOfFreedom'>): number {
  if (standardError > 0) return studentTwoSided(estimate / standardError, degreesOfFreedom);
  return estimate === 0 ? 1 : 0;
}

export function smallestDetectable(
  { standardError, degreesOfFreedom }: Pick<Inference, 'standardError' | 'degreesOfFreedom'>,
  confidence: number,
): number {
  const quantile = studentQuantile(1 - (1 - confidence) / 2, degreesOfFreedom);
  return (quantile + studentQuantile(power, degreesOfFreedom)) * standardError;
}

/** From an estimate and its spread to interval, p-value and the slope that would have been seen. */
import { studentQuantile, studentTwoSided } from '../statistics/distributions.ts';

export interface Inference {
  readonly estimate: number;
  readonly standardError: number;
  readonly degreesOfFreedom: number;
  readonly interval: { readonly lower: number; readonly upper: number };
}

/** Power at which the smallest detectable slope is stated. */
const power = 0.8;

export function infer(
  estimate: number,
  { standardError, degreesOfFreedom }: { readonly standardError: number; readonly degreesOfFreedom: number },
  confidence: number,
): Inference {
  const reach = studentQuantile(1 - (1 - confidence) / 2, degreesOfFreedom) * standardError;
  return {
    estimate,
    standardError,
    degreesOfFreedom,
    interval: { lower: estimate - reach, upper: estimate + reach },
  };
}

/** Two-sided. A fit without residuals has no spread: any slope but 0 is then certain. */
export function pValueOf({ estimate, standardError, degreesOfFreedom }: Omit<Inference, 'interval'>): number {
  if (standardError > 0) return studentTwoSided(estimate / standardError, degreesOfFreedom);
  return estimate === 0 ? 1 : 0;
}

export function smallestDetectable(
  { standardError, degreesOfFreedom }: Omit<Inference, 'interval'>,
  confidence: number,
): number {
  const quantile = studentQuantile(1 - (1 - confidence) / 2, degreesOfFreedom);
  return (quantile + studentQuantile(power, degreesOfFreedom)) * standardError;
}

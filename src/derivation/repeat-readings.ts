/** Repeat readings of one film: their spread is a type A uncertainty. */
import { studentQuantile } from '../statistics/distributions.ts';
import { normalCoverage } from './estimate.ts';

export interface RepeatMean {
  readonly mean: number;
  readonly count: number;
  /** Sample standard deviation of one reading; 0 with one reading. */
  readonly spread: number;
}

/** Mean and sample standard deviation of the readings, in the order given. */
export function repeatMean(values: readonly number[]): RepeatMean {
  let sum = 0;
  for (const value of values) sum += value;
  const mean = sum / values.length;
  let squares = 0;
  for (const value of values) squares += (value - mean) * (value - mean);
  return { mean, count: values.length, spread: values.length > 1 ? Math.sqrt(squares / (values.length - 1)) : 0 };
}

/** Degrees of freedom of a stated reading uncertainty: it is known to about 22 % (GUM G.4.2 eq. G.3, from memory). */
const degreesOfStated = 10;

/**
 * Standard uncertainty of one reading from the stated one (type B) and the spread of the repeats (type A), each with its
 * degrees of freedom: u^2 = (10 u_B^2 + (n - 1) s^2) / (10 + n - 1). Two readings that happen to agree do not make a
 * reading exact, and two that happen to differ do not make it worthless.
 */
export function pooledReadingUncertainty(stated: number, { spread, count }: RepeatMean): number {
  const own = count - 1;
  return Math.sqrt((degreesOfStated * stated * stated + own * spread * spread) / (degreesOfStated + own));
}

/**
 * Standard uncertainty of the mean of readings about whose scatter nothing else is known, s / sqrt(n), and the factor by
 * which it must be widened so that 1.96 times it covers 95 % (Student's t with n - 1 degrees of freedom).
 */
export function meanUncertainty({ spread, count }: RepeatMean): { standardUncertainty: number; widening: number } {
  if (count < 2 || spread === 0) return { standardUncertainty: 0, widening: 1 };
  return {
    standardUncertainty: spread / Math.sqrt(count),
    widening: studentQuantile(0.975, count - 1) / normalCoverage,
  };
}

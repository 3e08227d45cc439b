/** Standard errors with the errors that shots have in common: the statistical part, the common part and the total. */
import { studentQuantile } from '../statistics/distributions.ts';
import { findRoot } from '../statistics/find-root.ts';
import type { CommonVariance } from './common-errors.ts';

export interface Spread {
  /** Total. */
  readonly standardError: number;
  readonly degreesOfFreedom: number;
  /** What falls with more shots, and what does not; their squares add up to that of the total. */
  readonly statisticalError: number;
  readonly commonError: number;
}

export interface StatisticalSpread {
  readonly standardError: number;
  readonly degreesOfFreedom: number;
  /** The same for independent errors of equal variance. */
  readonly classicalError: number;
}

/** Common errors that a spread measured between clusters holds already, because a cluster holds all shots that share them. */
export type HeldBySpread = Readonly<Record<keyof CommonVariance, boolean>>;

export const nothingHeld: HeldBySpread = { rig: false, cue: false, table: false };
export const everythingHeld: HeldBySpread = { rig: true, cue: true, table: true };

/** Above this Student's t is the normal distribution to six digits. */
const ampleDegrees = 1e6;

/**
 * total^2 = max(s^2, min(s^2, c^2) + held) + other, with s the statistical spread, c the classical one, `held` the common
 * variance that s measures too (between labs that each err by their own scale, slopes differ by it) and `other` the rest.
 * What s measures is not added again; but where s shows no more than scatter of single shots, a stated error is not
 * taken to be absent. Degrees of freedom by Welch and Satterthwaite (JCGM 100:2008 G.4, from memory), those of stated
 * variances infinite, but never so many that a stated error makes the interval narrower.
 */
export function totalSpread(
  { standardError, degreesOfFreedom, classicalError }: StatisticalSpread,
  variance: CommonVariance,
  held: HeldBySpread,
): Spread {
  let inside = 0;
  let other = 0;
  for (const kind of ['rig', 'cue', 'table'] as const) {
    if (held[kind]) inside += variance[kind];
    else other += variance[kind];
  }
  const own = standardError * standardError;
  const scatter = Math.min(own, classicalError * classicalError);
  const measured = Math.max(own, scatter + inside);
  const total = measured + other;
  const common = { commonError: Math.sqrt(inside + other) };
  if (total === own) {
    const statisticalError = inside === 0 ? standardError : Math.sqrt(Math.max(0, total - inside));
    return { standardError, degreesOfFreedom, statisticalError, ...common };
  }
  // Only the scatter is estimated; where the measured spread counts whole, all of it is.
  const share = total / (measured > own ? scatter : own);
  const effective = Math.min(degreesOfFreedom * share * share, Math.max(degreesOfFreedom, ampleDegrees));
  return {
    standardError: Math.sqrt(total),
    degreesOfFreedom: neverNarrower(effective, degreesOfFreedom, standardError / Math.sqrt(total)),
    statisticalError: Math.sqrt(Math.max(0, total - inside - other)),
    ...common,
  };
}

/**
 * Effective degrees of freedom grow so fast beside very few that the interval would be narrower with the stated error than
 * without it. They are then those at which the 95 % interval stays as it was.
 * @param shrink spread without the stated errors over that with them
 */
function neverNarrower(effective: number, degreesOfFreedom: number, shrink: number): number {
  const quantile = (degrees: number) => studentQuantile(0.975, degrees);
  const needed = quantile(degreesOfFreedom) * shrink;
  if (quantile(effective) >= needed) return effective;
  return findRoot((degrees) => needed - quantile(degrees), degreesOfFreedom, effective, 1e-6);
}

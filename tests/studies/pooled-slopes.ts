/** Simulated pools of labs with a known mean slope, and which intervals hold it. */
import { clusterRobust } from '../../src/statistics/cluster-robust.ts';
import { studentQuantile } from '../../src/statistics/distributions.ts';
import { type Contrast, classicalVariance, leastSquares } from '../../src/statistics/least-squares.ts';
import { mixedContrast, mixedModel } from '../../src/statistics/mixed-model.ts';
import { type Moments, momentsByGroup } from '../../src/statistics/moments.ts';
import { synthesis } from '../../src/statistics/synthesis.ts';
import { seededUniform } from '../pooling/invented-shots.ts';

export const methods = [
  'lab-fixed, CR2 with Satterthwaite (default)',
  'lab slopes, REML with Hartung-Knapp (default, beside)',
  'lab slopes, REML, never below the plain error',
  'prediction interval for a further lab (default)',
  'lab-fixed, classical',
  'random lab levels, REML with Kenward-Roger',
  'labs ignored, classical',
] as const;
export type Method = (typeof methods)[number];

const trueSlope = 1;

export interface Coverage {
  /** Share of pools whose 95 % interval holds the mean slope (of a further lab: that lab's slope). */
  readonly held: Readonly<Record<Method, number>>;
  readonly medianWidth: Readonly<Record<Method, number>>;
}

function normals(uniform: () => number): () => number {
  // Marsaglia's polar method.
  let spare: number | null = null;
  return () => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    for (;;) {
      const [u, v] = [uniform(), uniform()];
      const s = u * u + v * v;
      if (s >= 1 || s === 0) continue;
      const factor = Math.sqrt((-2 * Math.log(s)) / s);
      spare = v * factor;
      return u * factor;
    }
  };
}

/**
 * Labs differ in size (log-normal, median 60 shots), in the speeds they play, and in a level that goes with those speeds;
 * slopes are equal or differ with the given standard deviation.
 */
function pool(labs: number, slopeDeviation: number, normal: () => number): { groups: Moments[]; further: number } {
  const rows: { x: number; y: number }[] = [];
  const segments = Array.from({ length: labs }, (_, group) => {
    const shots = Math.max(8, Math.round(60 * Math.exp(0.8 * normal())));
    const middle = 0.7 * normal();
    const level = 0.5 * middle + 0.5 * normal();
    const slope = trueSlope + slopeDeviation * normal();
    const from = rows.length;
    for (let shot = 0; shot < shots; shot += 1) {
      const x = middle + normal();
      rows.push({ x, y: level + slope * x + 0.5 * normal() });
    }
    return { group, from, to: rows.length };
  });
  const fill = (block: readonly Float64Array[], from: number, to: number) => {
    for (let at = from; at < to; at += 1) {
      (block[0] as Float64Array)[at - from] = (rows[at] as { x: number }).x;
      (block[1] as Float64Array)[at - from] = (rows[at] as { y: number }).y;
    }
  };
  return { groups: momentsByGroup(2, fill, segments, labs), further: trueSlope + slopeDeviation * normal() };
}

interface Interval {
  readonly lower: number;
  readonly upper: number;
}

function around(estimate: number, variance: number, degrees: number): Interval {
  const reach = studentQuantile(0.975, degrees) * Math.sqrt(variance);
  return { lower: estimate - reach, upper: estimate + reach };
}

function intervalsOf(groups: readonly Moments[]): Record<Method, Interval> {
  const slope: Contrast = { atMeans: 0, slopes: Float64Array.of(1) };
  const fits = (['within', 'pooled'] as const).map((model) => {
    const outcome = leastSquares(groups, model);
    if (!outcome.ok) throw new Error(outcome.reason);
    return outcome.fit;
  });
  const [within, pooled] = fits as [(typeof fits)[number], (typeof fits)[number]];
  const [robust] = clusterRobust(within, groups, [slope]);
  const own = groups.map((moments) => {
    const outcome = leastSquares([moments], 'within');
    if (!outcome.ok) throw new Error(outcome.reason);
    return { estimate: outcome.fit.slopes[0] as number, variance: classicalVariance(outcome.fit, slope) };
  });
  const mean = synthesis(
    own.map(({ estimate }) => estimate),
    own.map(({ variance }) => variance),
    'REML',
    0.95,
  );
  const mixed = mixedModel(
    groups.map((moments) => [moments]),
    false,
  );
  if (robust === undefined || mixed === null || mean.prediction === null) throw new Error('not fitted');
  const random = mixedContrast(mixed, slope);
  const estimate = within.slopes[0] as number;
  const { degreesOfFreedom } = mean;
  return {
    'lab-fixed, CR2 with Satterthwaite (default)': around(estimate, robust.cr2, robust.degreesOfFreedom),
    'lab slopes, REML with Hartung-Knapp (default, beside)': around(
      mean.estimate,
      mean.hartungKnappError * mean.hartungKnappError,
      degreesOfFreedom,
    ),
    'lab slopes, REML, never below the plain error': around(
      mean.estimate,
      mean.modifiedError * mean.modifiedError,
      degreesOfFreedom,
    ),
    'prediction interval for a further lab (default)': mean.prediction,
    'lab-fixed, classical': around(estimate, classicalVariance(within, slope), within.degreesOfFreedom),
    'random lab levels, REML with Kenward-Roger': around(random.estimate, random.variance, random.degreesOfFreedom),
    'labs ignored, classical': around(
      pooled.slopes[0] as number,
      classicalVariance(pooled, slope),
      pooled.degreesOfFreedom,
    ),
  };
}

/** Coverage over so many simulated pools; the same numbers for the same seed. */
export function pooledCoverage(labs: number, slopeDeviation: number, pools: number, seed: number): Coverage {
  const normal = normals(seededUniform(seed));
  const record = <Value>(make: () => Value) =>
    Object.fromEntries(methods.map((method) => [method, make()])) as Record<Method, Value>;
  const held = record(() => 0);
  const widths = record((): number[] => []);
  for (let run = 0; run < pools; run += 1) {
    const { groups, further } = pool(labs, slopeDeviation, normal);
    const intervals = intervalsOf(groups);
    for (const method of methods) {
      const { lower, upper } = intervals[method];
      const truth = method === 'prediction interval for a further lab (default)' ? further : trueSlope;
      if (lower <= truth && truth <= upper) held[method] += 1 / pools;
      widths[method].push(upper - lower);
    }
  }
  const medianWidth = record(() => 0);
  for (const method of methods) {
    const sorted = widths[method].sort((a, b) => a - b);
    medianWidth[method] = sorted[Math.floor(sorted.length / 2)] as number;
  }
  return { held, medianWidth };
}

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { chunkSegments } from '../../src/statistics/chunk-segments.ts';
import { clusterRobust, informationShares } from '../../src/statistics/cluster-robust.ts';
import {
  type Contrast,
  classicalVariance,
  type LeastSquares,
  type LeastSquaresModel,
  leastSquares,
} from '../../src/statistics/least-squares.ts';
import { type Moments, momentsByGroup } from '../../src/statistics/moments.ts';
import { rawCoefficient, rawMap } from '../../src/statistics/raw-coefficients.ts';
import { termBasis, termColumns } from '../../src/statistics/term-basis.ts';
import { rowByRow } from './row-by-row.ts';

const coefficientTolerance = 1e-9;
const varianceTolerance = 1e-6;

interface Sample {
  readonly groups: number[];
  readonly predictors: number[][];
  readonly y: number[];
}

/** Groups of 1 to 7 rows, some of them of one row only; predictors far from zero by `offset`. */
const sampleArbitrary = (groupCount: fc.Arbitrary<number>): fc.Arbitrary<Sample & { offset: number }> =>
  fc
    .record({
      sizes: groupCount.chain((count) =>
        fc.array(fc.integer({ min: 1, max: 7 }), { minLength: count, maxLength: count }),
      ),
      width: fc.integer({ min: 1, max: 2 }),
      offset: fc.constantFrom(0, 1e3, 1e6),
      seed: fc.integer({ min: 1, max: 2 ** 31 - 1 }),
    })
    .map(({ sizes, width, offset, seed }) => {
      const next = generator(seed);
      const groups = [...sizes.flatMap((size, group) => Array.from({ length: size }, () => group)), 0, 0, 0, 0].sort(
        (a, b) => a - b,
      );
      const predictors = Array.from({ length: width }, () =>
        groups.map((group) => offset + group * next() + 2 * next()),
      );
      const y = groups.map(
        (group, row) => offset + group + predictors.reduce((sum, x) => sum + ((x[row] as number) - offset), 0) + next(),
      );
      return { groups, predictors, y, offset };
    });

/** A small linear congruential generator; values in [-1, 1). */
function generator(seed: number): () => number {
  let state = seed % 2147483647;
  return () => {
    state = (state * 48271) % 2147483647;
    return (2 * state) / 2147483647 - 1;
  };
}

interface KernelFit {
  readonly fit: LeastSquares;
  readonly moments: Moments[];
  /** Column slopes per unit of raw slope. */
  readonly halfWidths: Float64Array;
  readonly slopes: number[];
}

function kernelFit({ groups, predictors, y }: Sample, model: LeastSquaresModel): KernelFit | null {
  const moments = kernelMoments({ groups, predictors, y });
  const outcome = leastSquares(moments.moments, model);
  if (!outcome.ok) return null;
  const map = rawMap(moments.basis);
  return {
    fit: outcome.fit,
    moments: moments.moments,
    halfWidths: moments.basis.halfWidths,
    slopes: predictors.map((_, row) => rawCoefficient(map, row, outcome.fit.slopes)),
  };
}

function kernelMoments({ groups, predictors, y }: Sample) {
  const basis = termBasis(
    predictors.map((_, variable) => [{ variable, power: 1 }]),
    predictors.map((x) => ({ min: Math.min(...x), max: Math.max(...x) })),
  );
  const indices = Int32Array.from(y, (_, row) => row);
  const fill = termColumns(
    basis,
    predictors.map((x) => Float64Array.from(x)),
    Float64Array.from(y),
    y[0] as number,
    indices,
  );
  const segments = chunkSegments(Int32Array.from(groups), indices, indices);
  return { basis, moments: momentsByGroup(predictors.length + 1, fill, segments, Math.max(...groups) + 1) };
}

function slopeContrasts({ halfWidths }: KernelFit): Contrast[] {
  return [...halfWidths.keys()].map((place) => {
    const slopes = new Float64Array(halfWidths.length);
    slopes[place] = 1 / (halfWidths[place] as number);
    return { atMeans: 0, slopes };
  });
}

function close(found: number, expected: number, tolerance: number, scale = Math.abs(expected)): void {
  expect(Math.abs(found - expected)).toBeLessThanOrEqual(tolerance * (scale + 1e-12));
}

describe.each(['within', 'pooled'] as const)('moments of %s data against every row written out', (model) => {
  it('give the same slopes, variances and degrees of freedom, also at offsets of a million and with one-row groups', () => {
    let compared = 0;
    fc.assert(
      fc.property(sampleArbitrary(fc.integer({ min: 2, max: 6 })), (sample) => {
        const kernel = kernelFit(sample, model);
        if (kernel === null) return fc.pre(false);
        fc.pre(kernel.fit.varianceInflation.every((value) => value < 100));
        // The offset is taken off before the rows are written out: the slopes do not know it.
        const rows = sample.y.map((_, row) => sample.predictors.map((x) => (x[row] as number) - sample.offset));
        const y = sample.y.map((value) => value - sample.offset);
        const expected = rowByRow(rows, y, sample.groups, model === 'within');
        fc.pre(expected.residualSumOfSquares > 1e-6 && expected.degreesOfFreedom > 1);
        const robust = clusterRobust(kernel.fit, kernel.moments, slopeContrasts(kernel));
        expect(kernel.fit.degreesOfFreedom).toBe(expected.degreesOfFreedom);
        close(kernel.fit.residualSumOfSquares, expected.residualSumOfSquares, varianceTolerance);
        slopeContrasts(kernel).forEach((contrast, j) => {
          const scale = Math.abs(expected.coefficients[j] as number) + 1;
          close(kernel.slopes[j] as number, expected.coefficients[j] as number, coefficientTolerance, scale);
          close(classicalVariance(kernel.fit, contrast), expected.classical[j] as number, varianceTolerance);
          const found = robust[j] as (typeof robust)[number];
          const size = expected.classical[j] as number;
          close(found.cr0, expected.cr0[j] as number, varianceTolerance, size);
          if (Number.isNaN(found.degreesOfFreedom)) return;
          close(found.cr2, expected.cr2[j] as number, varianceTolerance, size + (expected.cr2[j] as number));
          close(found.degreesOfFreedom, expected.satterthwaite[j] as number, varianceTolerance);
          compared += 1;
        });
        close(
          informationShares(kernel.fit, kernel.moments).reduce((sum, share) => sum + share, 0),
          1,
          1e-9,
        );
      }),
      { seed: 20260101, numRuns: 300 },
    );
    expect(compared).toBeGreaterThan(200);
  });
});

describe('what cannot be estimated', () => {
  const y = [1, 2, 4, 3, 5, 7];
  const groups = [0, 0, 0, 1, 1, 1];

  it('a predictor that is constant within every group is refused within groups and estimated when pooled', () => {
    const sample = { groups, predictors: [[1e6, 1e6, 1e6, 1e6 + 0.3, 1e6 + 0.3, 1e6 + 0.3]], y };
    const { moments } = kernelMoments(sample);
    expect(leastSquares(moments, 'within')).toEqual({ ok: false, reason: 'constantPredictor', predictor: 0 });
    expect(leastSquares(moments, 'pooled').ok).toBe(true);
  });

  it('a predictor that is constant altogether is refused', () => {
    const { moments } = kernelMoments({ groups, predictors: [[0.1, 0.1, 0.1, 0.1, 0.1, 0.1]], y });
    expect(leastSquares(moments, 'pooled')).toEqual({ ok: false, reason: 'constantPredictor', predictor: 0 });
  });

  it('a linear combination is refused with the names of all its parts and of nothing else', () => {
    const next = generator(5);
    const many = Array.from({ length: 30 }, (_, row) => row % 3).sort((a, b) => a - b);
    const [a, b, c] = [many.map(next), many.map(next), many.map(next)];
    const sum = many.map((_, row) => 2 * (a[row] as number) - (c[row] as number));
    const { moments } = kernelMoments({ groups: many, predictors: [a, b, c, sum], y: many.map(next) });
    expect(leastSquares(moments, 'within')).toEqual({ ok: false, reason: 'collinear', predictor: 3, others: [0, 2] });
  });

  it('fewer rows than parameters are refused with the number needed', () => {
    const { moments } = kernelMoments({ groups: [0, 0, 1], predictors: [[1, 2, 3]], y: [1, 2, 2] });
    expect(leastSquares(moments, 'within')).toEqual({ ok: false, reason: 'tooFewRows', needed: 4 });
  });

  it('one group alone leaves no cluster-robust variance and no degrees of freedom', () => {
    const kernel = kernelFit(
      { groups: [0, 0, 0, 0], predictors: [[1, 2, 3, 5]], y: [1, 2, 2, 4] },
      'pooled',
    ) as KernelFit;
    const [found] = clusterRobust(kernel.fit, kernel.moments, slopeContrasts(kernel));
    expect(found?.cr2).toBe(0);
    expect(found?.degreesOfFreedom).toBeNaN();
    expect(found?.captured).toBe(0);
  });
});

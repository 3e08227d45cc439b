import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { chunkSegments } from '../../src/statistics/chunk-segments.ts';
import { clusterRobust, clusterRobustWithin, informationShares } from '../../src/statistics/cluster-robust.ts';
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

function kernelMoments({ groups, predictors, y }: Sample, offset = y[0] as number) {
  const basis = termBasis(
    predictors.map((_, variable) => [{ variable, power: 1 }]),
    predictors.map((x) => ({ min: Math.min(...x), max: Math.max(...x) })),
  );
  const indices = Int32Array.from(y, (_, row) => row);
  const fill = termColumns(
    basis,
    predictors.map((x) => Float64Array.from(x)),
    Float64Array.from(y),
    offset,
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

describe.each(['within', 'pooled', 'throughOrigin'] as const)(
  'clusters smaller than the groups of %s data',
  (model) => {
    it('give the CR0, CR2 and degrees of freedom of dummies for the groups and full matrices for the clusters', () => {
      let compared = 0;
      fc.assert(
        fc.property(sampleArbitrary(fc.integer({ min: 1, max: 4 })), (sample) => {
          fc.pre(sample.offset === 0);
          // Two clusters in each group: the rows at even and at odd places.
          const clusters = sample.groups.map((group, row) => 2 * group + (row % 2));
          const kernel = kernelFit(sample, model);
          if (kernel === null) return fc.pre(false);
          fc.pre(kernel.fit.varianceInflation.every((value) => value < 100));
          const rows = sample.y.map((_, row) => sample.predictors.map((x) => x[row] as number));
          const none = model === 'throughOrigin';
          // Columns are centred on the middle of their range: that is the origin here.
          const origin = sample.predictors.map((x) => (none ? (Math.min(...x) + Math.max(...x)) / 2 : 0));
          const expected = rowByRow(
            rows.map((row) => row.map((value, j) => value - (origin[j] as number))),
            sample.y.map((value) => value - (none ? (sample.y[0] as number) : 0)),
            sample.groups,
            none ? 'none' : model === 'within',
            clusters,
          );
          fc.pre(expected.residualSumOfSquares > 1e-6 && expected.degreesOfFreedom > 1);
          const parts = clusterMoments(sample, clusters);
          const robust = clusterRobustWithin(kernel.fit, kernel.moments, parts, slopeContrasts(kernel));
          robust.forEach((found, j) => {
            const size = expected.classical[j] as number;
            close(kernel.slopes[j] as number, expected.coefficients[j] as number, coefficientTolerance, 1 + size);
            close(classicalVariance(kernel.fit, slopeContrasts(kernel)[j] as Contrast), size, varianceTolerance);
            close(found.cr0, expected.cr0[j] as number, varianceTolerance, size);
            if (Number.isNaN(found.degreesOfFreedom)) return;
            close(found.cr2, expected.cr2[j] as number, varianceTolerance, size + (expected.cr2[j] as number));
            close(found.degreesOfFreedom, expected.satterthwaite[j] as number, varianceTolerance);
            compared += 1;
          });
        }),
        { seed: 20260102, numRuns: 200 },
      );
      expect(compared).toBeGreaterThan(100);
    });
  },
);

/** Moments of each cluster about the same constants as those of the groups, and the group it belongs to. */
function clusterMoments(sample: Sample, clusters: number[]) {
  const order = [...clusters.keys()].sort((a, b) => (clusters[a] as number) - (clusters[b] as number));
  const arranged = {
    groups: order.map((row) => clusters[row] as number),
    predictors: sample.predictors.map((x) => order.map((row) => x[row] as number)),
    y: order.map((row) => (sample.y[row] as number) - (sample.y[0] as number)),
  };
  const { moments } = kernelMoments(arranged, 0);
  return moments.map((each, cluster) => ({ moments: each, group: Math.floor(cluster / 2) }));
}

describe('five hundred groups, most of them of one row', () => {
  const next = generator(77);
  const groups = Array.from({ length: 500 }, (_, group) =>
    Array.from({ length: group % 5 === 0 ? 3 : 1 }, () => group),
  ).flat();
  const predictors = [groups.map(() => 1e6 + 2 * next()), groups.map((group) => (group % 7) * next())];
  const y = groups.map((group, row) => group * 0.01 + ((predictors[0] as number[])[row] as number) - 1e6 + next());
  const centred = (values: number[]) => {
    const shifted = values.map((value) => value - (values[0] as number));
    return shifted.map((value, row) => {
      const own = shifted.filter((_, other) => groups[other] === groups[row]);
      return value - own.reduce((sum, each) => sum + each, 0) / own.length;
    });
  };

  it.each(['within', 'pooled'] as const)('%s: slopes, CR0, CR2 and degrees of freedom of rows written out', (model) => {
    const kernel = kernelFit({ groups, predictors, y }, model) as KernelFit;
    const columns = [...predictors, y].map((values) =>
      model === 'within' ? centred(values) : values.map((value) => value - (values[0] as number)),
    );
    const rows = groups.map((_, row) => [0, 1].map((j) => (columns[j] as number[])[row] as number));
    // Centring the rows of each group is the same as a dummy for it.
    const expected = rowByRow(rows, columns[2] as number[], groups, model === 'within' ? 'none' : false);
    const robust = clusterRobust(kernel.fit, kernel.moments, slopeContrasts(kernel));
    robust.forEach((found, j) => {
      close(kernel.slopes[j] as number, expected.coefficients[j] as number, coefficientTolerance);
      close(found.cr0, expected.cr0[j] as number, varianceTolerance);
      close(found.cr2, expected.cr2[j] as number, varianceTolerance);
      close(found.degreesOfFreedom, expected.satterthwaite[j] as number, varianceTolerance);
    });
    expect(kernel.fit.degreesOfFreedom).toBe(groups.length - 2 - (model === 'within' ? 500 : 1));
  });

  it('every group but one of one row: the slopes are those of that group', () => {
    const lone = groups.slice(0, 40).map((_, row) => Math.max(0, row - 9));
    const sample = { groups: lone, predictors: predictors.map((x) => x.slice(0, 40)), y: y.slice(0, 40) };
    const alone = { groups: lone.slice(0, 10), predictors: predictors.map((x) => x.slice(0, 10)), y: y.slice(0, 10) };
    const [all, one] = [kernelFit(sample, 'within') as KernelFit, kernelFit(alone, 'within') as KernelFit];
    one.slopes.forEach((slope, j) => {
      close(all.slopes[j] as number, slope, coefficientTolerance);
    });
    expect(all.fit.degreesOfFreedom).toBe(7);
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

/**
 * The kernel against fits written out row by row for one lab and for hundreds, most of them with a single shot, far from
 * zero, and with predictors that do not vary in some labs; and its bits against the order of arrival.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { regressionSpecificationSchema } from '../../shared/regression.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { chunkSegments } from '../../src/statistics/chunk-segments.ts';
import { clusterRobust } from '../../src/statistics/cluster-robust.ts';
import { classicalVariance, type LeastSquaresModel, leastSquares } from '../../src/statistics/least-squares.ts';
import { momentsByGroup } from '../../src/statistics/moments.ts';
import { inventedRow, seededUniform, shuffled } from '../pooling/invented-shots.ts';

/** Digits lost to the offset of the rows themselves: 1e6 leaves 1e-10 of a spread of 1. */
const agreement = 1e-8;

interface Rows {
  readonly groups: number[];
  readonly x: [number, number][];
  readonly y: number[];
}

/** Labs of 1 to 4 shots, a third of them of one; in every fourth lab the first predictor is constant. */
function rowsOf(labs: number, offset: number, seed: number): Rows {
  const next = seededUniform(seed);
  const rows: Rows = { groups: [], x: [], y: [] };
  for (let lab = 0; lab < labs; lab += 1) {
    const shots = labs === 1 ? 12 : lab % 3 === 0 ? 1 : 2 + (lab % 3);
    const level = 2 * next();
    const fixed = 3 * next();
    for (let shot = 0; shot < shots; shot += 1) {
      const first = offset + (lab % 4 === 1 && labs > 1 ? fixed : fixed + next());
      const second = offset + level + 2 * next();
      rows.groups.push(lab);
      rows.x.push([first, second]);
      rows.y.push(level + 0.7 * (first - offset) - 0.3 * (second - offset) + 0.5 * next());
    }
  }
  return rows;
}

/** Two slopes, their classical variances and CR0, from rows centred one by one; no moments, no merging. */
function written({ groups, x, y }: Rows, model: Exclude<LeastSquaresModel, 'throughOrigin'>) {
  const key = (row: number) => (model === 'within' ? (groups[row] as number) : 0);
  const sums = new Map<number, { n: number; a: number; b: number; y: number }>();
  const origin = x[0] as [number, number];
  groups.forEach((_, row) => {
    const sum = sums.get(key(row)) ?? { n: 0, a: 0, b: 0, y: 0 };
    const [a, b] = x[row] as [number, number];
    sums.set(key(row), {
      n: sum.n + 1,
      a: sum.a + a - origin[0],
      b: sum.b + b - origin[1],
      y: sum.y + (y[row] as number),
    });
  });
  const centred = groups.map((_, row) => {
    const { n, a, b, y: total } = sums.get(key(row)) as { n: number; a: number; b: number; y: number };
    const [first, second] = x[row] as [number, number];
    return [first - origin[0] - a / n, second - origin[1] - b / n, (y[row] as number) - total / n] as const;
  });
  let [aa, ab, bb, ay, by, yy] = [0, 0, 0, 0, 0, 0];
  for (const [a, b, value] of centred) {
    aa += a * a;
    ab += a * b;
    bb += b * b;
    ay += a * value;
    by += b * value;
    yy += value * value;
  }
  const determinant = aa * bb - ab * ab;
  const slopes = [(bb * ay - ab * by) / determinant, (aa * by - ab * ay) / determinant] as const;
  const inverse = [bb / determinant, -ab / determinant, aa / determinant] as const;
  const residual = yy - slopes[0] * ay - slopes[1] * by;
  const degrees = groups.length - 2 - sums.size;
  const scores = new Map<number, [number, number]>();
  centred.forEach(([a, b, value], row) => {
    const rest = value - slopes[0] * a - slopes[1] * b;
    const score = scores.get(groups[row] as number) ?? [0, 0];
    scores.set(groups[row] as number, [score[0] + a * rest, score[1] + b * rest]);
  });
  let [first, second] = [0, 0];
  for (const [a, b] of scores.values()) {
    first += (inverse[0] * a + inverse[1] * b) ** 2;
    second += (inverse[1] * a + inverse[2] * b) ** 2;
  }
  return {
    slopes,
    classical: [(residual / degrees) * inverse[0], (residual / degrees) * inverse[2]] as const,
    cr0: [first, second] as const,
  };
}

function kernel({ groups, x, y }: Rows, model: LeastSquaresModel) {
  const indices = Int32Array.from(y, (_, row) => row);
  const constants = [x[0]?.[0] as number, x[0]?.[1] as number, y[0] as number];
  const moments = momentsByGroup(
    3,
    (block, from, to) => {
      for (let at = from; at < to; at += 1) {
        (block[0] as Float64Array)[at - from] = (x[at]?.[0] as number) - (constants[0] as number);
        (block[1] as Float64Array)[at - from] = (x[at]?.[1] as number) - (constants[1] as number);
        (block[2] as Float64Array)[at - from] = (y[at] as number) - (constants[2] as number);
      }
    },
    chunkSegments(Int32Array.from(groups), indices, indices),
    Math.max(...groups) + 1,
  );
  const outcome = leastSquares(moments, model);
  if (!outcome.ok) throw new Error(outcome.reason);
  const contrasts = [0, 1].map((j) => ({ atMeans: 0, slopes: Float64Array.of(j === 0 ? 1 : 0, j) }));
  return { fit: outcome.fit, contrasts, robust: clusterRobust(outcome.fit, moments, contrasts) };
}

describe.each([1, 2, 37, 500])('%d labs', (labs) => {
  it('give the slopes, classical variances and CR0 of rows written out, at offsets of 0 and a million', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 2 ** 30 }),
        fc.constantFrom(0, 1e6),
        fc.constantFrom('within' as const, 'pooled' as const),
        (seed, offset, model) => {
          const rows = rowsOf(labs, offset, seed);
          if (labs === 2) {
            // One lab of one shot and one of three: too few for two slopes within labs.
            expect(() => kernel(rows, 'within')).toThrow('tooFewRows');
            return;
          }
          const expected = written(rows, model);
          const { fit, contrasts, robust } = kernel(rows, model);
          for (const j of [0, 1] as const) {
            expect(Math.abs((fit.slopes[j] as number) - expected.slopes[j])).toBeLessThan(agreement);
            const classical = classicalVariance(fit, contrasts[j] as (typeof contrasts)[number]);
            expect(Math.abs(classical / expected.classical[j] - 1)).toBeLessThan(agreement);
            // One lab alone leaves its scores at zero.
            if (labs > 1) expect(Math.abs((robust[j]?.cr0 as number) / expected.cr0[j] - 1)).toBeLessThan(agreement);
          }
        },
      ),
      { seed: 31, numRuns: labs === 500 ? 8 : 25 },
    );
  });

  it('give the same bits whatever the order of arrival', () => {
    const { groups, x, y } = rowsOf(labs === 2 ? 3 : labs, 0, 77);
    const rows = groups.map((lab, row) =>
      inventedRow(`lab-${String(lab).padStart(3, '0')}`, row + 1, {
        cueSpeed: 4 + (x[row]?.[0] as number),
        tipOffset: 0.05 * (x[row]?.[1] as number),
        contactTime: 1e-3 + 1e-5 * (y[row] as number),
      }),
    );
    const specification = regressionSpecificationSchema.parse({
      response: 'contactTime',
      terms: [[{ variable: 'cueSpeed' }], [{ variable: 'tipOffset' }]],
    });
    const base = { specificationDigest: '', dataVersion: '', methodVersion: '1' };
    const answer = (order: typeof rows) => JSON.stringify(runRegression(assembleColumns(order), specification, base));
    expect(answer(shuffled(rows, 5))).toBe(answer(rows));
  });
});

/** Movements of estimates under a shared error, against fits of rows that really carry it. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type ErrorShape, predictorPerturbation, responsePerturbation } from '../../src/statistics/basis-derivative.ts';
import { leastSquaresMovement, mixedMovement } from '../../src/statistics/common-errors.ts';
import { type LeastSquaresModel, leastSquares } from '../../src/statistics/least-squares.ts';
import { type MixedBlocks, mixedBlocks } from '../../src/statistics/mixed-blocks.ts';
import { mixedModel } from '../../src/statistics/mixed-model.ts';
import { type Moments, momentsByGroup } from '../../src/statistics/moments.ts';
import { rawCoefficient, rawMap } from '../../src/statistics/raw-coefficients.ts';
import { restrictedFit } from '../../src/statistics/restricted-likelihood.ts';
import { type Term, termBasis, termColumns } from '../../src/statistics/term-basis.ts';
import { seededUniform } from '../pooling/invented-shots.ts';

const step = 1e-5;
/** Central differences leave step^2 of the third derivative, and rounding over step. */
const agreement = 1e-6;

const x = { variable: 0, power: 1 };
const termSets: Record<string, readonly Term[]> = {
  line: [[x]],
  'two lines': [[x], [{ variable: 1, power: 1 }]],
  'closed powers and a product': [
    [x],
    [{ variable: 1, power: 1 }],
    [{ variable: 0, power: 2 }],
    [x, { variable: 1, power: 1 }],
    [{ variable: 0, power: 3 }],
  ],
  'a raw power': [[{ variable: 0, power: 2 }], [{ variable: 1, power: 1 }]],
};

interface Rows {
  readonly groups: number[];
  readonly variables: [number[], number[]];
  readonly y: number[];
  /** Rows that share the error. */
  readonly unit: boolean[];
}

function invented(seed: number): Rows {
  const next = seededUniform(seed);
  const groups = Array.from({ length: 48 }, (_, row) => Math.floor(row / 16));
  const first = groups.map((group) => 3 + 0.4 * group + next());
  const second = groups.map(() => 5 * next() + 2);
  const y = groups.map(
    (group, row) => 2 + group * 0.3 + 0.7 * (first[row] as number) ** 2 - 0.2 * (second[row] as number) + 0.3 * next(),
  );
  return { groups, variables: [first, second], y, unit: groups.map((group, row) => group === 1 && row % 3 !== 0) };
}

/** Rows of the unit with the variable (or the response, null) measured wrong by `error`. */
function erring(rows: Rows, variable: 0 | 1 | null, shape: ErrorShape, error: number): Rows {
  const wrong = (values: number[]) =>
    values.map((value, row) => (rows.unit[row] ? (shape === 'relative' ? value * (1 + error) : value + error) : value));
  if (variable === null) return { ...rows, y: wrong(rows.y) };
  const variables: [number[], number[]] = [[...rows.variables[0]], [...rows.variables[1]]];
  variables[variable] = wrong(rows.variables[variable]);
  return { ...rows, variables };
}

const responseOffset = 6;

function momentsOf(
  rows: Rows,
  terms: readonly Term[],
  intercept: boolean,
  chosen: (row: number) => boolean = () => true,
) {
  const basis = termBasis(
    terms,
    [
      { min: 1, max: 6 },
      { min: -4, max: 8 },
    ],
    intercept,
  );
  const indices = Int32Array.from(rows.y.flatMap((_, row) => (chosen(row) ? [row] : [])));
  const fill = termColumns(
    basis,
    rows.variables.map((values) => Float64Array.from(values)),
    Float64Array.from(rows.y),
    intercept ? responseOffset : 0,
    indices,
  );
  const segments = [0, 1, 2].map((group) => {
    const own = [...indices.keys()].filter((at) => rows.groups[indices[at] as number] === group);
    return { group, from: own[0] ?? 0, to: (own.at(-1) ?? -1) + 1 };
  });
  return {
    basis,
    groups: momentsByGroup(
      terms.length + 1,
      fill,
      segments.filter(({ from, to }) => to > from),
      3,
    ),
  };
}

describe.each(['within', 'pooled', 'throughOrigin'] as const)(
  'a shared error in a %s fit',
  (model: LeastSquaresModel) => {
    it.each(Object.keys(termSets))('moves the coefficients as refitting with it does: %s', (name) => {
      const terms = termSets[name] as readonly Term[];
      const intercept = model !== 'throughOrigin';
      fc.assert(
        fc.property(
          fc.integer({ min: 1, max: 1e6 }),
          fc.constantFrom(0 as const, 1 as const, null),
          fc.constantFrom('relative' as const, 'constant' as const),
          (seed, variable, shape) => {
            const rows = invented(seed);
            const { basis, groups } = momentsOf(rows, terms, intercept);
            const unit = momentsOf(rows, terms, intercept, (row) => rows.unit[row] as boolean).groups[1] as Moments;
            const perturbation =
              variable === null
                ? responsePerturbation(terms.length, intercept ? responseOffset : 0, shape)
                : predictorPerturbation(basis, variable, shape);
            if (perturbation === null) {
              // Only a constant error of a raw power has no derivative among the columns.
              expect(shape).toBe('constant');
              return;
            }
            const fit = leastSquares(groups, model);
            if (!fit.ok) throw new Error(fit.reason);
            const moved = leastSquaresMovement(fit.fit, groups[1] as Moments, unit, perturbation);
            const refit = (error: number) => {
              const outcome = leastSquares(
                momentsOf(erring(rows, variable, shape, error), terms, intercept).groups,
                model,
              );
              if (!outcome.ok) throw new Error(outcome.reason);
              return outcome.fit;
            };
            const [up, down] = [refit(step), refit(-step)];
            const size = Math.max(...fit.fit.slopes.map(Math.abs));
            moved.slopes.forEach((value, j) => {
              const expected = ((up.slopes[j] as number) - (down.slopes[j] as number)) / (2 * step);
              expect(Math.abs(value - expected)).toBeLessThan(agreement * (Math.abs(expected) + size));
            });
            if (model !== 'pooled') return;
            // The fitted value at the means of the rows as they were.
            const at = (each: typeof up) => {
              let value = each.means[terms.length] as number;
              each.slopes.forEach((slope, j) => {
                value += slope * ((fit.fit.means[j] as number) - (each.means[j] as number));
              });
              return value;
            };
            const expected = (at(up) - at(down)) / (2 * step);
            expect(Math.abs(moved.atMeans - expected)).toBeLessThan(agreement * (Math.abs(expected) + 1));
          },
        ),
        { seed: 11, numRuns: 30 },
      );
    });
  },
);

describe('a shared error beside random levels', () => {
  it('moves slopes and mean as refitting at the same variances does', () => {
    for (const seed of [3, 4, 5]) {
      const rows = invented(seed);
      const terms = termSets['two lines'] as readonly Term[];
      const { basis, groups } = momentsOf(rows, terms, true);
      const unit = momentsOf(rows, terms, true, (row) => rows.unit[row] as boolean).groups[1] as Moments;
      const model = mixedModel(
        groups.map((each) => [each]),
        false,
      );
      const perturbation = predictorPerturbation(basis, 0, 'relative');
      if (model === null || perturbation === null) throw new Error('not fitted');
      const moved = mixedMovement(model, 1, groups[1] as Moments, unit, perturbation);
      const scale = (blocks: MixedBlocks, j: number) => blocks.scales[j] as number;
      const refit = (error: number) => {
        const again = mixedBlocks(
          momentsOf(erring(rows, 0, 'relative', error), terms, true).groups.map((each) => [each]),
          false,
        );
        const responses = scale(model.blocks, 2) / scale(again, 2);
        const found = restrictedFit(
          again,
          model.fit.components.map((value) => value * responses * responses),
        );
        if (found === null) throw new Error('not fitted');
        const slopes = [0, 1].map((j) => ((found.coefficients[j + 1] as number) * scale(again, 2)) / scale(again, j));
        const level = (found.coefficients[0] as number) * scale(again, 2) + (again.centres[2] as number);
        // The fitted value at the means of the rows as they were.
        const shift = slopes.reduce(
          (sum, slope, j) => sum + slope * ((model.means[j] as number) - (again.centres[j] as number)),
          0,
        );
        return [level + shift, ...slopes];
      };
      const [up, down] = [refit(step), refit(-step)] as [number[], number[]];
      [moved.atMeans, ...moved.slopes].forEach((value, j) => {
        const expected = ((up[j] as number) - (down[j] as number)) / (2 * step);
        expect(Math.abs(value - expected)).toBeLessThan(agreement * (Math.abs(expected) + 10));
      });
    }
  });

  it('with a large lab variance moves slopes as one level a lab does', () => {
    const rows = invented(9);
    const apart = { ...rows, y: rows.y.map((value, row) => value + 1e4 * (rows.groups[row] as number)) };
    const terms = termSets.line as readonly Term[];
    const { basis, groups } = momentsOf(apart, terms, true);
    const unit = momentsOf(apart, terms, true, (row) => rows.unit[row] as boolean).groups[1] as Moments;
    const perturbation = predictorPerturbation(basis, 0, 'relative');
    const model = mixedModel(
      groups.map((each) => [each]),
      false,
    );
    const fit = leastSquares(groups, 'within');
    if (model === null || perturbation === null || !fit.ok) throw new Error('not fitted');
    const found = mixedMovement(model, 1, groups[1] as Moments, unit, perturbation).slopes[0] as number;
    const expected = leastSquaresMovement(fit.fit, groups[1] as Moments, unit, perturbation).slopes[0] as number;
    expect(Math.abs(found / expected - 1)).toBeLessThan(1e-4);
  });
});

it('a wrong scale of all rows changes a slope by itself, in the other direction', () => {
  const rows = { ...invented(7), unit: invented(7).groups.map(() => true) };
  const terms = termSets.line as readonly Term[];
  const { basis, groups } = momentsOf(rows, terms, true);
  const fit = leastSquares(groups, 'within');
  const perturbation = predictorPerturbation(basis, 0, 'relative');
  if (!fit.ok || perturbation === null) throw new Error('not fitted');
  const map = rawMap(basis);
  const slope = rawCoefficient(map, 0, fit.fit.slopes);
  const moved = groups.reduce(
    (sum, group) => sum + rawCoefficient(map, 0, leastSquaresMovement(fit.fit, group, group, perturbation).slopes),
    0,
  );
  expect(Math.abs(moved / slope + 1)).toBeLessThan(1e-12);
});

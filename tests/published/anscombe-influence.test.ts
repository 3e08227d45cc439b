/**
 * Anscombe 1973 (Am. Stat. 27:17, data as in R's `anscombe`): four sets with one line, 3.0 + 0.5 x, which the view of
 * influential shots tells apart. Leverages and Cook distances from R 4.2.2 (hatvalues, cooks.distance, rstudent).
 */
import { expect, it } from 'vitest';
import { regressionSpecificationSchema } from '../../shared/regression.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { inventedRow } from '../pooling/invented-shots.ts';

const x = [10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5];
const sets = {
  one: { x, y: [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68] },
  two: { x, y: [9.14, 8.14, 8.74, 8.77, 9.26, 8.1, 6.13, 3.1, 9.13, 7.26, 4.74] },
  three: { x, y: [7.46, 6.77, 12.74, 7.11, 7.81, 8.84, 6.08, 5.39, 8.15, 6.42, 5.73] },
  four: {
    x: [8, 8, 8, 8, 8, 8, 8, 19, 8, 8, 8],
    y: [6.58, 5.76, 7.71, 8.84, 8.47, 7.04, 5.25, 12.5, 5.56, 7.91, 6.89],
  },
};
const columns = assembleColumns(
  Object.entries(sets).flatMap(([lab, { x: across, y }]) =>
    across.map((value, shot) =>
      inventedRow(lab, shot + 1, { objectBallDistance: value, outcomeDistance: y[shot] as number }),
    ),
  ),
);

function influence(lab: string) {
  const specification = regressionSpecificationSchema.parse({
    response: 'outcomeDistance',
    terms: [[{ variable: 'objectBallDistance' }]],
    influence: true,
    filter: { groups: [{ grouping: 'lab', values: [lab] }] },
  });
  const result = runRegression(columns, specification, {
    specificationDigest: '',
    dataVersion: '',
    methodVersion: '1',
  });
  if (result.influence === null) throw new Error('no view');
  const slope = result.coefficients.find(({ term }) => term === 'objectBallDistance');
  expect(Math.abs((slope?.estimate as number) - 0.5)).toBeLessThan(0.0005);
  expect(Math.abs((slope?.standardError as number) - 0.118)).toBeLessThan(0.0005);
  return result.influence;
}

it('set IV rests on one shot of leverage 1, which the slope cannot do without', () => {
  const [first, second] = influence('four').byDistance;
  expect(first).toMatchObject({ label: 'shot 8', leverage: 1, distance: null, residual: null });
  expect(first?.sentence).toContain('alone determines');
  expect(second?.leverage).toBeCloseTo(0.1, 12);
});

it('set III has one shot far off its line: Cook distance 1.3928, studentised residual 1203.5', () => {
  const view = influence('three');
  expect(view.byDistance[0]?.label).toBe('shot 3');
  expect(view.byDistance[0]?.leverage).toBeCloseTo(0.2363636, 7);
  expect(view.byDistance[0]?.distance).toBeCloseTo(1.392849, 6);
  expect(view.byResidual[0]?.label).toBe('shot 3');
  expect(view.byResidual[0]?.residual).toBeCloseTo(1203.5395, 3);
});

it('sets I and II have none of the kind', () => {
  for (const lab of ['one', 'two']) {
    const view = influence(lab);
    expect(view.byDistance[0]?.leverage).toBeLessThan(0.32);
    expect(view.byDistance[0]?.distance).toBeLessThan(1);
    expect(Math.abs(view.byResidual[0]?.residual as number)).toBeLessThan(3);
  }
  // cooks.distance of set I: largest .489209 (shot 3).
  expect(influence('one').byDistance[0]?.distance).toBeCloseTo(0.48920932, 7);
});

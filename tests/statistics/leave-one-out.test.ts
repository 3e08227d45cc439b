import { describe, expect, it } from 'vitest';
import { classicalVariance, leastSquares } from '../../src/statistics/least-squares.ts';
import { leaveOneGroupOut } from '../../src/statistics/leave-one-out.ts';
import { type Moments, momentsByGroup } from '../../src/statistics/moments.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { seededUniform } from '../pooling/invented-shots.ts';

const next = seededUniform(3);
const x = Array.from({ length: 60 }, () => next());
const y = x.map((value, row) => 2 * value + (row >= 45 ? 3 * value : 0) + 0.1 * next());

function groupsOf(rows: readonly number[], labs: number): Moments[] {
  return momentsByGroup(
    2,
    (block, from, to) => {
      for (let at = from; at < to; at += 1) {
        (block[0] as Float64Array)[at - from] = x[rows[at] as number] as number;
        (block[1] as Float64Array)[at - from] = y[rows[at] as number] as number;
      }
    },
    Array.from({ length: labs }, (_, group) => ({ group, from: 15 * group, to: 15 * group + 15 })),
    labs,
  );
}

describe('the fit without one group', () => {
  const groups = groupsOf([...x.keys()], 4);
  const outcome = leastSquares(groups, 'within');
  if (!outcome.ok) throw new Error(outcome.reason);
  const { fit } = outcome;
  const found = leaveOneGroupOut(fit, groups);

  it('is the fit of the others alone', () => {
    const others = leastSquares(
      groupsOf(
        [...x.keys()].filter((row) => row < 15 || row >= 30),
        3,
      ),
      'within',
    );
    if (!others.ok) throw new Error(others.reason);
    expectRelative(found[1]?.fit?.slopes[0] as number, others.fit.slopes[0] as number, 1e-14);
    expect(found.map(({ group }) => group)).toEqual([0, 1, 2, 3]);
  });

  it("has Cook's distance: the squared change over the squared classical standard error, and shows the odd group", () => {
    found.forEach(({ fit: without, distance }) => {
      const change = (without?.slopes[0] as number) - (fit.slopes[0] as number);
      const variance = classicalVariance(fit, { atMeans: 0, slopes: Float64Array.of(1) });
      expectRelative(distance as number, (change * change) / variance, 1e-12);
    });
    const distances = found.map(({ distance }) => distance as number);
    expect(distances.indexOf(Math.max(...distances))).toBe(3);
  });

  it('says so when the rest cannot give the slopes', () => {
    const lone = leastSquares(groups.slice(0, 1), 'within');
    if (!lone.ok) throw new Error(lone.reason);
    expect(leaveOneGroupOut(lone.fit, groups.slice(0, 1))).toEqual([{ group: 0, fit: null, distance: null }]);
  });
});

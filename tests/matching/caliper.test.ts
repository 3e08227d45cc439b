import fc from 'fast-check';
import { expect, it } from 'vitest';
import { assign } from '../../src/matching/assign.ts';
import { caliperOf } from '../../src/matching/caliper.ts';
import { caliperSlack, type Points } from '../../src/matching/candidate-pairs.ts';
import { checkCertificate } from '../../src/matching/check-certificate.ts';
import { matchPairs } from '../../src/matching/match-pairs.ts';
import { bestAssignments } from './brute-force.ts';

const settings = { numRuns: 400, seed: 71 };
const value = fc.integer({ min: -12, max: 12 }).map((tenths) => tenths / 20);
const uncertainty = fc.integer({ min: 0, max: 8 }).map((step) => step / 50);
const point = fc.record({ value, uncertainty });
const side = fc.array(point, { maxLength: 7 });
type Point = { readonly value: number; readonly uncertainty: number };

const pointsOf = (points: readonly Point[]): Points => ({
  count: points.length,
  groups: new Int32Array(points.length),
  values: [Float64Array.from(points, (each) => each.value)],
});

it('a caliper in combined standard uncertainties is held against each pair by the uncertainties of its two shots', () => {
  fc.assert(
    fc.property(side, side, (first, second) => {
      const caliper = {
        factor: 2,
        first: Float64Array.from(first, (each) => each.uncertainty),
        second: Float64Array.from(second, (each) => each.uncertainty),
      };
      const { costs, assignment, pairs } = matchPairs(pointsOf(first), pointsOf(second), [caliper]);
      const edges: string[] = [];
      for (let i = 0; i < costs.rows; i++) {
        for (let e = costs.start[i] as number; e < (costs.start[i + 1] as number); e++) {
          edges.push(`${i}-${costs.column[e]}`);
        }
      }
      const expected = first.flatMap((a, i) =>
        second.flatMap((b, j) => {
          const reach = 2 * Math.sqrt(a.uncertainty * a.uncertainty + b.uncertainty * b.uncertainty);
          expect(caliperOf(caliper, i, j)).toBe(reach);
          return Math.abs(a.value - b.value) <= reach * (1 + caliperSlack) ? [`${i}-${j}`] : [];
        }),
      );
      expect(edges).toEqual(expected);
      expect(pairs).toHaveLength(bestAssignments(costs).pairs);
      expect(checkCertificate(costs, assignment, assignment.certificate)).toEqual({ valid: true });
    }),
    settings,
  );
});

it('pairs that cost more than they are worth are given up, the rest is the best that is left', () => {
  fc.assert(
    fc.property(side, side, fc.integer({ min: 1, max: 100 }), (first, second, percent) => {
      const worth = percent / 100;
      const all = matchPairs(pointsOf(first), pointsOf(second), [0.25]);
      const some = matchPairs(pointsOf(first), pointsOf(second), [0.25], worth);
      const price = Math.round(worth * some.scale);
      // Least of total cost + price of every row without partner, over all assignments of at most so many pairs.
      let least = Number.POSITIVE_INFINITY;
      const { costs } = all;
      const taken = new Set<number>();
      const walk = (row: number, sum: number): void => {
        if (row === costs.rows) {
          least = Math.min(least, sum);
          return;
        }
        walk(row + 1, sum + price);
        for (let e = costs.start[row] as number; e < (costs.start[row + 1] as number); e++) {
          const column = costs.column[e] as number;
          if (taken.has(column)) continue;
          taken.add(column);
          walk(row + 1, sum + (costs.cost[e] as number));
          taken.delete(column);
        }
      };
      walk(0, 0);
      expect(some.assignment.totalCost + price * (costs.rows - some.pairs.length)).toBe(least);
      expect(some.pairs.length).toBeLessThanOrEqual(all.pairs.length);
      expect(assign(costs).pairs).toBe(all.pairs.length);
    }),
    settings,
  );
});

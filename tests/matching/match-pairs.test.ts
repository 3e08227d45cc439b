import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { caliperSlack, candidatePairs, type Points } from '../../src/matching/candidate-pairs.ts';
import { checkCertificate } from '../../src/matching/check-certificate.ts';
import { matchPairs } from '../../src/matching/match-pairs.ts';
import { costScale } from '../../src/matching/sparse-costs.ts';

type Row = { readonly group: number; readonly values: readonly number[] };

function pointsOf(rows: readonly Row[], variables: number): Points {
  return {
    count: rows.length,
    groups: Int32Array.from(rows, (row) => row.group),
    values: Array.from({ length: variables }, (_, k) => Float64Array.from(rows, (row) => row.values[k] as number)),
  };
}

/** Values on a coarse decimal grid meet the caliper exactly now and then; fine ones make distances distinct. */
function sides(value: fc.Arbitrary<number>, most: number) {
  return fc.integer({ min: 1, max: 4 }).chain((variables) => {
    const row = fc.record({
      group: fc.integer({ min: 0, max: 2 }),
      values: fc.array(value, { minLength: variables, maxLength: variables }),
    });
    return fc.record({
      variables: fc.constant(variables),
      first: fc.array(row, { maxLength: most }),
      second: fc.array(row, { maxLength: most }),
      calipers: fc.array(fc.constantFrom(0.1, 0.25, 0.03), { minLength: variables, maxLength: variables }),
    });
  });
}
const coarse = fc.integer({ min: -12, max: 12 }).map((tenths) => tenths / 20);
const fine = fc.integer({ min: -400_000, max: 400_000 }).map((millionths) => millionths / 1e6);
const settings = { numRuns: 1500, seed: 23 };

describe('candidatePairs', () => {
  it('finds exactly the pairs of one group within every caliper, at their scaled distance', () => {
    fc.assert(
      fc.property(fc.oneof(sides(coarse, 14), sides(fine, 14)), ({ variables, first, second, calipers }) => {
        const { start, column, distance } = candidatePairs(
          pointsOf(first, variables),
          pointsOf(second, variables),
          calipers,
        );
        const found: string[] = [];
        for (let i = 0; i < first.length; i++) {
          for (let e = start[i] as number; e < (start[i + 1] as number); e++) {
            found.push(`${i}-${column[e]}:${distance[e]}`);
          }
        }
        const expected: string[] = [];
        first.forEach((a, i) => {
          second.forEach((b, j) => {
            const differences = a.values.map((value, k) => Math.abs(value - (b.values[k] as number)));
            const within = differences.every((d, k) => d <= (calipers[k] as number) * (1 + caliperSlack));
            if (a.group !== b.group || !within) return;
            const sum = differences.reduce((total, d, k) => total + (d / (calipers[k] as number)) ** 2, 0);
            expected.push(`${i}-${j}:${Math.sqrt(sum)}`);
          });
        });
        expect(found).toEqual(expected);
      }),
      settings,
    );
  });

  it('counts values exactly one caliper apart in decimals', () => {
    const at = (value: number): Points => pointsOf([{ group: 0, values: [value] }], 1);
    expect(3.1 - 3).toBeGreaterThan(0.1);
    expect(candidatePairs(at(3.1), at(3), [0.1]).column).toHaveLength(1);
    expect(candidatePairs(at(3.101), at(3), [0.1]).column).toHaveLength(0);
  });
});

describe('matchPairs', () => {
  it('gives the same pairs in whatever order the shots come, when no pair is tied', () => {
    let compared = 0;
    fc.assert(
      fc.property(sides(fine, 10), fc.infiniteStream(fc.nat()), (sample, keys) => {
        const { variables, first, second, calipers } = sample;
        const shuffledOrder = (count: number): number[] =>
          Array.from({ length: count }, (_, i) => ({ i, key: keys.next().value as number }))
            .sort((a, b) => a.key - b.key || a.i - b.i)
            .map(({ i }) => i);
        const orderOfFirst = shuffledOrder(first.length);
        const orderOfSecond = shuffledOrder(second.length);
        const plain = matchPairs(pointsOf(first, variables), pointsOf(second, variables), calipers);
        const shuffled = matchPairs(
          pointsOf(
            orderOfFirst.map((i) => first[i] as Row),
            variables,
          ),
          pointsOf(
            orderOfSecond.map((j) => second[j] as Row),
            variables,
          ),
          calipers,
        );
        expect(shuffled.assignment.totalCost).toBe(plain.assignment.totalCost);
        expect(shuffled.ties).toBe(plain.ties);
        if (plain.ties > 0) return;
        compared += plain.pairs.length;
        const back = shuffled.pairs
          .map((pair) => ({
            ...pair,
            first: orderOfFirst[pair.first] as number,
            second: orderOfSecond[pair.second] as number,
          }))
          .sort((a, b) => a.first - b.first);
        expect(back).toEqual(plain.pairs);
      }),
      settings,
    );
    expect(compared).toBeGreaterThan(500);
  });

  it('matches each group as if it were alone', () => {
    fc.assert(
      fc.property(sides(fine, 10), ({ variables, first, second, calipers }) => {
        const whole = matchPairs(pointsOf(first, variables), pointsOf(second, variables), calipers);
        let pairs = 0;
        let distance = 0;
        for (const group of [0, 1, 2]) {
          const part = matchPairs(
            pointsOf(
              first.filter((row) => row.group === group),
              variables,
            ),
            pointsOf(
              second.filter((row) => row.group === group),
              variables,
            ),
            calipers,
          );
          pairs += part.pairs.length;
          for (const pair of part.pairs) distance += pair.distance;
        }
        expect(whole.pairs).toHaveLength(pairs);
        expect(whole.pairs.reduce((sum, pair) => sum + pair.distance, 0)).toBeCloseTo(distance, 8);
      }),
      settings,
    );
  });

  it('proves itself on a crowded set of 1500 against 1500 and beats matching greedily', () => {
    // A linear congruential generator (Numerical Recipes constants) stands for chance.
    let state = 12345;
    const chance = (): number => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state / 4294967296;
    };
    const rows = (): Row[] => Array.from({ length: 1500 }, () => ({ group: 0, values: [chance(), chance()] }));
    const first = rows();
    const second = rows();
    const calipers = [0.04, 0.04];
    const { pairs, costs, assignment } = matchPairs(pointsOf(first, 2), pointsOf(second, 2), calipers);
    expect(checkCertificate(costs, assignment, assignment.certificate)).toEqual({ valid: true });

    const taken = new Set<number>();
    let greedy = 0;
    for (let i = 0; i < costs.rows; i++) {
      let best = -1;
      let least = Number.POSITIVE_INFINITY;
      for (let e = costs.start[i] as number; e < (costs.start[i + 1] as number); e++) {
        if (!taken.has(costs.column[e] as number) && (costs.cost[e] as number) < least) {
          least = costs.cost[e] as number;
          best = costs.column[e] as number;
        }
      }
      if (best < 0) continue;
      taken.add(best);
      greedy += 1;
    }
    expect(pairs.length).toBeGreaterThan(greedy);
  });
});

describe('costScale', () => {
  it('keeps sums exact for fifty thousand pairs on six variables, and takes 2^36 for a few hundred', () => {
    const scale = costScale(2.5, 50_000);
    expect(4 * (Math.ceil(2.5 * scale) * 50_000 + 1)).toBeLessThan(Number.MAX_SAFE_INTEGER);
    expect(scale).toBeGreaterThanOrEqual(2 ** 33);
    expect(costScale(2.5, 400)).toBe(2 ** 36);
  });
});

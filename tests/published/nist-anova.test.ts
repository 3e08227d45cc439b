/**
 * NIST Statistical Reference Datasets, one-way analysis of variance (doi 10.18434/T43G6C): certified values as printed
 * there, read by fixtures/make-fixtures.R. Treatments are groups of the kernel.
 */
import { describe, expect, it } from 'vitest';
import { chunkSegments } from '../../src/statistics/chunk-segments.ts';
import { groupLevels } from '../../src/statistics/group-levels.ts';
import { leastSquares } from '../../src/statistics/least-squares.ts';
import { momentsByGroup } from '../../src/statistics/moments.ts';
import fixture from './fixtures/nist-anova.json' with { type: 'json' };

interface Certified {
  readonly betweenDegrees: number;
  readonly between: number;
  readonly f: number;
  readonly withinDegrees: number;
  readonly within: number;
  readonly determination: number;
  readonly residualStandardDeviation: number;
}

/** Correct digits; 16 when all are. */
function digits(found: number, certified: number): number {
  return found === certified ? 16 : -Math.log10(Math.abs(found - certified) / Math.abs(certified));
}

function moments(groups: readonly number[], response: readonly number[], constant: number) {
  const indices = Int32Array.from(response, (_, row) => row);
  const segments = chunkSegments(Int32Array.from(groups), indices, indices);
  return momentsByGroup(
    1,
    (block, from, to) => {
      for (let at = from; at < to; at += 1) (block[0] as Float64Array)[at - from] = (response[at] as number) - constant;
    },
    segments,
    Math.max(...groups) + 1,
  );
}

function worstDigits(groups: readonly number[], response: readonly number[], constant: number, certified: Certified) {
  const own = moments(groups, response, constant);
  const found = groupLevels(own);
  const within = leastSquares(own, 'within');
  const pooled = leastSquares(own, 'pooled');
  if (found === null || !within.ok || !pooled.ok) throw new Error('not fitted');
  expect(found.numeratorDegrees).toBe(certified.betweenDegrees);
  expect(found.denominatorDegrees).toBe(certified.withinDegrees);
  return Math.min(
    digits(found.f, certified.f),
    digits(found.between, certified.between),
    digits(found.within, certified.within),
    digits(1 - found.within / pooled.fit.residualSumOfSquares, certified.determination),
    digits(Math.sqrt(within.fit.residualVariance), certified.residualStandardDeviation),
  );
}

/** Treatments 0, -1, 1, -1, ... and replicates 0, -1, 1, ... tenths around offset + 0.4. */
function ruled(replicates: number, offset: number) {
  const alternating = (place: number) => (place === 0 ? 0 : place % 2 === 1 ? -1 : 1);
  const groups: number[] = [];
  const tenths: number[] = [];
  for (let treatment = 0; treatment < 9; treatment += 1) {
    for (let replicate = 0; replicate < replicates; replicate += 1) {
      groups.push(treatment);
      tenths.push(4 + alternating(treatment) + alternating(replicate));
    }
  }
  return { groups, response: tenths.map((value) => Number(`${offset}.${value}`)) };
}

describe('NIST StRD analysis of variance', () => {
  it.each(['SiRstv', 'AtmWtAg'] as const)(
    '%s: F, sums of squares, R squared and residual deviation to 9 digits',
    (set) => {
      const { treatment, response, ...certified } = fixture.observed[set];
      const groups = treatment.map((name) => name - 1);
      expect(worstDigits(groups, response, response[0] as number, certified)).toBeGreaterThanOrEqual(9);
    },
  );

  it.each([
    // What is left of the certified digits is what the decimal data keep in a double: 0.1 at 1e6 is known to 1e-10, at 1e12
    // to 1e-4.
    ['SmLs01', 14],
    ['SmLs02', 13],
    ['SmLs03', 12],
    ['SmLs04', 9],
    ['SmLs05', 9],
    ['SmLs06', 9],
    ['SmLs07', 3],
    ['SmLs08', 3],
    ['SmLs09', 3],
  ] as const)('%s: to %d digits', (set, least) => {
    const { replicates, offset, ...certified } = fixture.ruled[set];
    const { groups, response } = ruled(replicates, offset);
    expect(worstDigits(groups, response, response[0] as number, certified)).toBeGreaterThanOrEqual(least);
  });

  it.each(['SmLs07', 'SmLs09'] as const)(
    '%s: behind an offset of 1e12 eleven digits are right for the doubles given, because a constant is taken off first',
    (set) => {
      const { replicates, offset, ...rest } = fixture.ruled[set];
      const { groups, response } = ruled(replicates, offset);
      // The same doubles less 1e12, which is exact: they lie on a grid of 2^-13 and keep all their digits.
      const small = response.map((value) => value - offset);
      const exact = exactly(groups, small, rest);
      expect(worstDigits(groups, response, response[0] as number, exact)).toBeGreaterThanOrEqual(11);
      // Left on, it costs the means of the groups all but four digits.
      expect(worstDigits(groups, response, 0, exact)).toBeLessThan(5);
    },
  );
});

/** Sums of squares of values on a grid of 2^-13 in whole numbers, so without any rounding until the end. */
function exactly(groups: readonly number[], values: readonly number[], certified: Certified): Certified {
  const scaled = values.map((value) => BigInt(value * 8192));
  const counts = new Map<number, { n: bigint; sum: bigint; squares: bigint }>();
  groups.forEach((group, row) => {
    const cell = counts.get(group) ?? { n: 0n, sum: 0n, squares: 0n };
    const value = scaled[row] as bigint;
    counts.set(group, { n: cell.n + 1n, sum: cell.sum + value, squares: cell.squares + value * value });
  });
  const cells = [...counts.values()];
  const n = (cells[0] as (typeof cells)[number]).n;
  const total = { n: n * 9n, sum: 0n, squares: 0n };
  let withinTimesN = 0n;
  for (const { sum, squares } of cells) {
    withinTimesN += n * squares - sum * sum;
    total.sum += sum;
    total.squares += squares;
  }
  const totalTimesN = total.n * total.squares - total.sum * total.sum;
  const grid = 8192 ** 2;
  const within = Number(withinTimesN) / Number(n) / grid;
  const all = Number(totalTimesN) / Number(total.n) / grid;
  const between = Number(totalTimesN - 9n * withinTimesN) / Number(total.n) / grid;
  return {
    ...certified,
    between,
    within,
    f: between / certified.betweenDegrees / (within / certified.withinDegrees),
    determination: between / all,
    residualStandardDeviation: Math.sqrt(within / certified.withinDegrees),
  };
}

import { readFileSync } from 'node:fs';

/** Reference values written by make-comparison-fixtures.R with R 4.2.2. */
interface ComparisonFixture {
  readonly balance: {
    readonly treat: readonly number[];
    readonly columns: Readonly<Record<string, readonly number[]>>;
    readonly difference: readonly number[];
    readonly varianceRatio: readonly (number | string)[];
  };
  readonly signedRanks: readonly {
    readonly x: readonly number[];
    readonly statistic: number;
    readonly p: number;
    readonly estimate: number;
    readonly lower: number;
    readonly upper: number;
  }[];
  readonly intercept: Readonly<
    Record<'plain' | 'adjusted', { estimate: number; standardError: number; degreesOfFreedom: number }>
  >;
  readonly assignment: Readonly<
    Record<'small' | 'large', { firstSeed: number; most: number; pairs: number[]; totals: number[] }>
  >;
}

export function comparisonFixture(): ComparisonFixture {
  return JSON.parse(readFileSync(new URL('./fixtures/comparison.json', import.meta.url), 'utf8')) as ComparisonFixture;
}

/** The draws of the R script: a linear congruential generator, its upper 16 bits. */
export function draws(seed: number, count: number): number[] {
  let state = seed;
  return Array.from({ length: count }, () => {
    // Below 2^53, so exact in doubles here and in R.
    state = (state * 1664525 + 1013904223) % 4294967296;
    return Math.floor(state / 65536);
  });
}

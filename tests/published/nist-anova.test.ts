/**
 * NIST Statistical Reference Datasets, analysis of variance: the constructed sets SmLs01 to SmLs09 (Simon & Lesage,
 * Computational Statistics & Data Analysis 8, 1 (1989)) on the moments that pooling uses, labs in place of treatments.
 * Construction and certified values from memory: nine treatments of 21, 201 or 2001 values, 1.4 and then 1.3 and 1.5 in
 * turn as their first values, the others 0.1 below and above it in turn; offset by 0, 1e6 or 1e12.
 */
import { describe, expect, it } from 'vitest';
import { momentsByGroup } from '../../src/statistics/moments.ts';

const treatments = 9;
const tenths = [14, 13, 15, 13, 15, 13, 15, 13, 15];

/** The values as printed in the file: decimals that a double holds as well as it can. */
function columnOf(size: number, offset: number): Float64Array {
  return Float64Array.from({ length: treatments * size }, (_, row) => {
    const place = row % size;
    const step = place === 0 ? 0 : place % 2 === 1 ? -1 : 1;
    return Number(
      `${offset + Math.trunc(((tenths[Math.floor(row / size)] ?? 0) + step) / 10)}.${((tenths[Math.floor(row / size)] ?? 0) + step) % 10}`,
    );
  });
}

function anova(size: number, offset: number) {
  const column = columnOf(size, offset);
  // As pooling does it: a constant near the mean goes off first.
  const constant = column[0] as number;
  const segments = Array.from({ length: treatments }, (_, group) => ({
    group,
    from: group * size,
    to: (group + 1) * size,
  }));
  const groups = momentsByGroup(
    1,
    (block, from, to) => {
      for (let i = from; i < to; i += 1) (block[0] as Float64Array)[i - from] = (column[i] as number) - constant;
    },
    segments,
    treatments,
  );
  const means = groups.map((group) => group.means[0] as number);
  const grand = means.reduce((sum, mean) => sum + mean, 0) / treatments;
  const between = (size * means.reduce((sum, mean) => sum + (mean - grand) ** 2, 0)) / (treatments - 1);
  const within =
    groups.reduce((sum, group) => sum + (group.products[0] as number), 0) / (treatments * size - treatments);
  return { between, within, ratio: between / within };
}

const digits = (actual: number, certified: number) =>
  actual === certified ? 16 : -Math.log10(Math.abs(actual / certified - 1));

describe('NIST StRD analysis of variance on the moments of pooling', () => {
  it.each([
    ['SmLs01', 21, 0, 9],
    ['SmLs02', 201, 0, 9],
    ['SmLs03', 2001, 0, 9],
    // With seven and thirteen leading digits that never change, the doubles themselves hold 9 and 3 of the others.
    ['SmLs04', 21, 1e6, 8],
    ['SmLs05', 201, 1e6, 8],
    ['SmLs06', 2001, 1e6, 8],
    ['SmLs07', 21, 1e12, 2],
    ['SmLs08', 201, 1e12, 2],
    ['SmLs09', 2001, 1e12, 2],
  ] as const)('%s: %i values a treatment, offset %f', (_, size, offset, least) => {
    const { between, within, ratio } = anova(size, offset);
    expect(digits(between, size / 100)).toBeGreaterThanOrEqual(least);
    expect(digits(within, 0.01)).toBeGreaterThanOrEqual(least);
    expect(digits(ratio, size)).toBeGreaterThanOrEqual(least);
  });
});

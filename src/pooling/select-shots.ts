/** Which shots take part in an analysis, and why the others do not. */
import type { Filter } from '../../shared/analysis.ts';
import { type FlagName, flagMask, flagNames, flags } from '../../shared/flags.ts';
import type { VariableName } from '../../shared/quantities.ts';
import type { ShotColumns } from './columns.ts';

export interface LeftOut {
  readonly reason: string;
  readonly shots: number;
}

export interface MissingValues {
  readonly variable: VariableName;
  readonly lab: string;
  readonly shots: number;
}

export interface Selection {
  /** Rows that take part, ascending. */
  readonly indices: Int32Array;
  /** Shots by the first reason that left them out: filter, reported only, a flag, a missing value. */
  readonly leftOut: LeftOut[];
  /** Shots left out for a missing value only, by variable and lab. */
  readonly missing: MissingValues[];
}

/**
 * Listwise selection: a shot takes part when it meets the filter and every needed variable has a value.
 * Intervals are closed; a missing value matches no interval and no group.
 * @param needed variables in the order in which a missing value is blamed
 */
export function selectShots(columns: ShotColumns, filter: Filter, needed: readonly VariableName[]): Selection {
  const meetsFilter = filterTest(columns, filter);
  const blocking = flagNames.filter((name) => flags[name].leftOut && !filter.includeFlags.includes(name));
  const blockingMask = flagMask(blocking);
  const labs = columns.groups.lab;
  const wanted = needed.map((variable) => columns.variables[variable]);

  const chosen = new Int32Array(columns.count);
  let count = 0;
  let outside = 0;
  let reported = 0;
  const flagged = new Int32Array(blocking.length);
  const missing = new Int32Array(needed.length * labs.names.length);
  for (let row = 0; row < columns.count; row += 1) {
    if (!meetsFilter(row)) {
      outside += 1;
      continue;
    }
    if (columns.fromTrack[row] === 0 && !filter.includeReported) {
      reported += 1;
      continue;
    }
    const flagBits = columns.flags[row] as number;
    if ((flagBits & blockingMask) !== 0) {
      const first = blocking.findIndex((name) => (flagBits & flagMask([name])) !== 0);
      flagged[first] = (flagged[first] as number) + 1;
      continue;
    }
    const absent = wanted.findIndex((values) => Number.isNaN(values[row] as number));
    if (absent >= 0) {
      const cell = absent * labs.names.length + (labs.codes[row] as number);
      missing[cell] = (missing[cell] as number) + 1;
      continue;
    }
    chosen[count] = row;
    count += 1;
  }

  const missingValues = needed.flatMap((variable, place) =>
    labs.names.map((lab, code) => ({ variable, lab, shots: missing[place * labs.names.length + code] as number })),
  );
  const leftOut: LeftOut[] = [
    { reason: 'outside the filter', shots: outside },
    { reason: 'reported only, without a track', shots: reported },
    ...blocking.map((name: FlagName, place) => ({ reason: `flag ${name}`, shots: flagged[place] as number })),
    ...needed.map((variable) => ({
      reason: `no ${variable}`,
      shots: missingValues.reduce((sum, each) => sum + (each.variable === variable ? each.shots : 0), 0),
    })),
  ];
  return {
    indices: chosen.slice(0, count),
    leftOut: leftOut.filter(({ shots }) => shots > 0),
    missing: missingValues.filter(({ shots }) => shots > 0),
  };
}

function filterTest(columns: ShotColumns, filter: Filter): (row: number) => boolean {
  const ranges = filter.ranges.map(({ variable, min, max }) => ({
    values: columns.variables[variable],
    min: min ?? Number.NEGATIVE_INFINITY,
    max: max ?? Number.POSITIVE_INFINITY,
  }));
  const groups = filter.groups.map(({ grouping, values }) => {
    const { codes, names } = columns.groups[grouping];
    const named = new Set(values);
    return { codes, allowed: Uint8Array.from(names, (name) => (named.has(name) ? 1 : 0)) };
  });
  return (row) => {
    for (const { values, min, max } of ranges) {
      const value = values[row] as number;
      // A missing value is NaN and fails both comparisons.
      if (!(value >= min && value <= max)) return false;
    }
    for (const { codes, allowed } of groups) {
      if (allowed[codes[row] as number] !== 1) return false;
    }
    return true;
  };
}

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

/** Rows judged at a time, few enough to stay in the cache. */
const blockSize = 8192;
const outsideFilter = 1;
const reportedOnly = 2;

/**
 * Listwise selection: a shot takes part when it meets the filter and every needed variable has a value.
 * Intervals are closed; a missing value matches no interval and no group.
 * @param needed variables in the order in which a missing value is blamed
 */
export function selectShots(columns: ShotColumns, filter: Filter, needed: readonly VariableName[]): Selection {
  const blocking = flagNames.filter((name) => flags[name].leftOut && !filter.includeFlags.includes(name));
  const firstMissing = reportedOnly + 1 + blocking.length;
  const labs = columns.groups.lab;
  const judge = judgeOf(columns, filter, blocking, needed);
  const chosen = new Int32Array(columns.count);
  const reasons = new Int32Array(firstMissing + needed.length);
  const missing = new Int32Array(needed.length * labs.names.length);
  const why = new Uint8Array(blockSize);
  let count = 0;
  for (let from = 0; from < columns.count; from += blockSize) {
    const rows = Math.min(blockSize, columns.count - from);
    judge(why, from, rows);
    for (let at = 0; at < rows; at += 1) {
      const reason = why[at] as number;
      if (reason === 0) {
        chosen[count] = from + at;
        count += 1;
        continue;
      }
      reasons[reason] = (reasons[reason] as number) + 1;
      if (reason < firstMissing) continue;
      const cell = (reason - firstMissing) * labs.names.length + (labs.codes[from + at] as number);
      missing[cell] = (missing[cell] as number) + 1;
    }
  }

  const missingValues = needed.flatMap((variable, place) =>
    labs.names.map((lab, code) => ({ variable, lab, shots: missing[place * labs.names.length + code] as number })),
  );
  const shotsOf = (reason: number) => reasons[reason] as number;
  const leftOut: LeftOut[] = [
    { reason: 'outside the filter', shots: shotsOf(outsideFilter) },
    { reason: 'reported only, without a track', shots: shotsOf(reportedOnly) },
    ...blocking.map((name: FlagName, place) => ({ reason: `flag ${name}`, shots: shotsOf(reportedOnly + 1 + place) })),
    ...needed.map((variable, place) => ({ reason: `no ${variable}`, shots: shotsOf(firstMissing + place) })),
  ];
  return {
    indices: chosen.subarray(0, count),
    leftOut: leftOut.filter(({ shots }) => shots > 0),
    missing: missingValues.filter(({ shots }) => shots > 0),
  };
}

/** Writes for each of `rows` rows from `from` on why it is left out, 0 when it takes part. */
type Judge = (why: Uint8Array, from: number, rows: number) => void;

/** Reasons are written last to first, so that the first one that applies stays; each is one plain loop over a column. */
function judgeOf(
  columns: ShotColumns,
  filter: Filter,
  blocking: readonly FlagName[],
  needed: readonly VariableName[],
): Judge {
  const wanted = needed.map((variable) => columns.variables[variable]);
  const blockingMask = flagMask([...blocking]);
  const masks = blocking.map((name) => flagMask([name]));
  const firstMissing = reportedOnly + 1 + blocking.length;
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
  return (why, from, rows) => {
    why.fill(0, 0, rows);
    for (let place = wanted.length - 1; place >= 0; place -= 1) {
      markMissing(why, wanted[place] as Float64Array, from, rows, firstMissing + place);
    }
    for (let at = 0; at < rows; at += 1) {
      const bits = (columns.flags[from + at] as number) & blockingMask;
      if (bits !== 0) why[at] = reportedOnly + 1 + masks.findIndex((mask) => (bits & mask) !== 0);
    }
    if (!filter.includeReported) {
      for (let at = 0; at < rows; at += 1) if (columns.fromTrack[from + at] === 0) why[at] = reportedOnly;
    }
    for (const { codes, allowed } of groups) {
      for (let at = 0; at < rows; at += 1) if (allowed[codes[from + at] as number] !== 1) why[at] = outsideFilter;
    }
    for (const { values, min, max } of ranges) markOutside(why, values, from, rows, min, max);
  };
}

function markMissing(why: Uint8Array, values: Float64Array, from: number, rows: number, reason: number): void {
  for (let at = 0; at < rows; at += 1) if (Number.isNaN(values[from + at] as number)) why[at] = reason;
}

function markOutside(
  why: Uint8Array,
  values: Float64Array,
  from: number,
  rows: number,
  min: number,
  max: number,
): void {
  for (let at = 0; at < rows; at += 1) {
    const value = values[from + at] as number;
    // A missing value is NaN and fails both comparisons.
    if (!(value >= min && value <= max)) why[at] = outsideFilter;
  }
}

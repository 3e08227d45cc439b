/** Contact times counted in frames take few values. */
import type { Warning } from '../../shared/analysis.ts';
import { quantities } from '../../shared/quantities.ts';
import { list, percent, rounded } from './figures-in-words.ts';
import type { RegressionFindings } from './regression-warnings.ts';

const distinctNeeded = 10;
/** More distinct values than this are not steps of a frame counter. */
const distinctKept = 40;
/** Values closer than this are one value but for rounding, s. */
const rounding = 1e-9;

/** The times of one lab, when they are steps of a counter. */
interface LabTimes {
  readonly lab: string;
  readonly distinct: number;
  /** Step of the counter, s; 0 for a single value. */
  readonly tick: number;
  readonly deviation: number;
}

/**
 * Fewer than ten distinct values, or steps of more than half the standard deviation. A time counted from frame to frame
 * has two rounded ends, each with the variance tick^2 / 12 (Sheppard), which is part of the spread: it stays in the scatter
 * of a response, and shrinks the slope of a predictor as any error does, while the tick is within twice the deviation.
 */
export function coarseTimes({ columns, specification, selection, design }: RegressionFindings): Warning[] {
  const used = new Set([specification.response, ...specification.terms.flat().map(({ variable }) => variable)]);
  const { names } = columns.groups.lab;
  return (['contactTime', 'countedContactTime'] as const).flatMap((variable): Warning[] => {
    if (!used.has(variable)) return [];
    const coarse = design.stretches.flatMap(({ group, from, to }) => {
      if (to - from < distinctNeeded) return [];
      const rows = selection.indices.subarray(from, to);
      const found = timesOf(names[group] as string, columns.variables[variable], rows);
      return found !== null && (found.distinct < distinctNeeded || found.tick > found.deviation / 2) ? [found] : [];
    });
    if (coarse.length === 0) return [];
    const label = quantities[variable].label;
    const predictor = specification.response !== variable;
    return [
      {
        code: 'QUANTISED',
        text: `${label[0]?.toUpperCase()}${label.slice(1)} is counted in frames and takes fewer than ${distinctNeeded} distinct values, or steps of more than half its standard deviation, in ${list(coarse.map((lab) => inWords(lab, predictor)))}.`,
      },
    ];
  });
}

function inWords({ lab, distinct, tick, deviation }: LabTimes, predictor: boolean): string {
  const values = `${distinct} ${distinct === 1 ? 'value' : 'values'}`;
  if (!(tick > 0) || !(deviation > 0)) return `${lab} (${values})`;
  const counting = Math.sqrt((tick * tick) / 6);
  const share = (tick * tick) / 6 / (deviation * deviation);
  const steps = `${lab} (${values}, steps of ${rounded(tick * 1000, 2)} ms: counting both ends adds tick^2/12 each, a standard deviation of ${rounded(counting * 1000, 2)} ms`;
  if (tick > 2 * deviation) return `${steps}, more than can be corrected: take it as ordinal)`;
  if (!predictor) return `${steps}, which is in the scatter)`;
  return share < 1
    ? `${steps}; without it a slope on it would be ${rounded(1 / (1 - share), 3)} times as steep)`
    : `${steps}, ${percent(share)} of the spread: the slope on it says nothing)`;
}

/** Null as soon as there are too many values for a counter. */
function timesOf(lab: string, times: Float64Array, rows: Int32Array): LabTimes | null {
  const seen: number[] = [];
  const first = times[rows[0] as number] as number;
  let sum = 0;
  let squares = 0;
  for (let at = 0; at < rows.length; at += 1) {
    const time = times[rows[at] as number] as number;
    const away = time - first;
    sum += away;
    squares += away * away;
    if (isSeen(seen, time)) continue;
    if (seen.length === distinctKept) return null;
    seen.push(time);
  }
  const mean = sum / rows.length;
  const deviation = Math.sqrt(Math.max(0, squares / rows.length - mean * mean));
  return { lab, distinct: seen.length, tick: smallestStep(seen), deviation };
}

function isSeen(seen: readonly number[], time: number): boolean {
  for (let place = seen.length - 1; place >= 0; place -= 1) {
    if (Math.abs((seen[place] as number) - time) <= rounding) return true;
  }
  return false;
}

/** Smallest gap between distinct values. */
function smallestStep(values: readonly number[]): number {
  const sorted = [...values].sort((first, second) => first - second);
  let smallest = Number.POSITIVE_INFINITY;
  for (let place = 1; place < sorted.length; place += 1) {
    smallest = Math.min(smallest, (sorted[place] as number) - (sorted[place - 1] as number));
  }
  return Number.isFinite(smallest) ? smallest : 0;
}

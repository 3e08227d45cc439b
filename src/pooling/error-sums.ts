/**
 * What the stated uncertainties of the chosen shots add up to, in one pass over each column: by lab what is each shot's
 * own, by rig, cue and table what their shots have in common.
 */
import type { VariableName } from '../../shared/quantities.ts';
import type { Segment } from '../statistics/moments.ts';
import {
  type CommonPartName,
  commonPartNames,
  commonParts,
  type ShotColumns,
  type UncertainName,
  uncertainNames,
} from './columns.ts';

/** Error variances or covariances of one lab's shots. */
export interface ErrorSum {
  /** Shots for which an uncertainty is stated. */
  readonly known: number;
  /** Sum of what is each shot's own, common parts taken off. */
  readonly own: number;
  /** Sum with the common parts. */
  readonly total: number;
}

/** The error that the shots of one rig, cue or table share in one quantity. */
export interface CommonSize {
  readonly part: CommonPartName;
  /** Code of the rig, cue or table. */
  readonly unit: number;
  readonly lab: number;
  /** All chosen shots of the unit in the lab, and those whose part is stated. */
  readonly rows: number;
  readonly shots: number;
  /** Root mean square of the part, in the unit of the quantity, and over that of the quantity itself. */
  readonly constant: number;
  readonly relative: number;
}

export interface ErrorSums {
  /** By lab code; null for a variable that carries no uncertainty. */
  readonly of: (variable: VariableName) => readonly ErrorSum[] | null;
  /** Covariances of speed and acceleration, by lab code; null unless both are asked for. */
  readonly speedAndAcceleration: readonly ErrorSum[] | null;
  readonly common: readonly CommonSize[];
}

export function isUncertain(variable: VariableName): variable is UncertainName & VariableName {
  return (uncertainNames as readonly string[]).includes(variable);
}

/**
 * @param variables those of the question
 * @param indices chosen rows, ascending
 * @param stretches of one lab each among them
 */
export function errorSums(
  columns: ShotColumns,
  indices: Int32Array,
  stretches: readonly Segment[],
  variables: readonly VariableName[],
): ErrorSums {
  const labs = columns.groups.lab.names.length;
  const uncertain = variables.filter(isUncertain);
  const common: CommonSize[] = [];
  const byVariable = new Map(
    uncertain.map((variable) => {
      const sums = squaresByLab(columns.uncertainties[variable], indices, stretches, labs);
      for (const part of commonPartNames.filter((name) => commonParts[name].of === variable)) {
        const sizes = sizesOf(columns, indices, stretches, part);
        common.push(...sizes);
        for (const { lab, shots, constant } of sizes) {
          const sum = sums[lab] as ErrorSum;
          sums[lab] = { ...sum, own: Math.max(0, sum.own - shots * constant * constant) };
        }
      }
      return [variable, sums];
    }),
  );
  const both = byVariable.has('cueSpeed') && byVariable.has('cueAcceleration');
  return {
    of: (variable) => (isUncertain(variable) ? (byVariable.get(variable) ?? null) : null),
    speedAndAcceleration: both ? covariancesByLab(columns, indices, stretches, labs) : null,
    common,
  };
}

function squaresByLab(errors: Float64Array, indices: Int32Array, stretches: readonly Segment[], labs: number) {
  const sums = Array.from({ length: labs }, (): ErrorSum => ({ known: 0, own: 0, total: 0 }));
  for (const { group, from, to } of stretches) {
    let known = 0;
    let total = 0;
    for (let at = from; at < to; at += 1) {
      const error = errors[indices[at] as number] as number;
      if (Number.isNaN(error)) continue;
      known += 1;
      total += error * error;
    }
    sums[group] = { known, own: total, total };
  }
  return sums;
}

/** Of one fit both results share the scale and the clock of the rig: their common parts go together, with the signs of the values. */
function covariancesByLab(columns: ShotColumns, indices: Int32Array, stretches: readonly Segment[], labs: number) {
  const covariances = columns.covarianceSpeedAcceleration;
  const accelerations = columns.variables.cueAcceleration;
  const { cueSpeedRig, cueAccelerationRig } = columns.commonUncertainties;
  const sums = Array.from({ length: labs }, (): ErrorSum => ({ known: 0, own: 0, total: 0 }));
  for (const { group, from, to } of stretches) {
    let known = 0;
    let total = 0;
    let shared = 0;
    for (let at = from; at < to; at += 1) {
      const row = indices[at] as number;
      const covariance = covariances[row] as number;
      if (Number.isNaN(covariance)) continue;
      known += 1;
      total += covariance;
      const product = (cueSpeedRig[row] as number) * (cueAccelerationRig[row] as number);
      if (product > 0) shared += (accelerations[row] as number) < 0 ? -product : product;
    }
    sums[group] = { known, own: total - shared, total };
  }
  return sums;
}

/** Sizes by rig, cue or table, in the order in which they first occur in each lab. */
function sizesOf(
  columns: ShotColumns,
  indices: Int32Array,
  stretches: readonly Segment[],
  part: CommonPartName,
): CommonSize[] {
  const { of, to: kind } = commonParts[part];
  const { codes } = columns.groups[kind];
  const sizes: CommonSize[] = [];
  for (const { group, from, to } of stretches) {
    const found = new Map<number, Float64Array>();
    // Shots of one rig mostly follow one another.
    for (let start = from; start < to; ) {
      const unit = codes[indices[start] as number] as number;
      const end = endOfRun(codes, indices, start, to);
      let sums = found.get(unit);
      if (sums === undefined) {
        sums = new Float64Array(sumsPerUnit);
        found.set(unit, sums);
      }
      addRun(sums, columns.commonUncertainties[part], columns.variables[of], indices, start, end);
      start = end;
    }
    for (const [unit, sums] of found) {
      const [rows, shots, squares, valueSquares] = [...sums] as [number, number, number, number];
      if (unit < 0 || !(squares > 0)) continue;
      const constant = Math.sqrt(squares / shots);
      const relative = valueSquares > 0 ? Math.sqrt(squares / valueSquares) : 0;
      sizes.push({ part, unit, lab: group, rows, shots, constant, relative });
    }
  }
  return sizes;
}

function endOfRun(codes: Int32Array, indices: Int32Array, from: number, to: number): number {
  const unit = codes[indices[from] as number] as number;
  let end = from + 1;
  while (end < to && codes[indices[end] as number] === unit) end += 1;
  return end;
}

/** Rows, rows with a part, squares of the part, squares of the quantity. */
const sumsPerUnit = 4;

function addRun(
  sums: Float64Array,
  parts: Float64Array,
  values: Float64Array,
  indices: Int32Array,
  from: number,
  to: number,
): void {
  let shots = 0;
  let squares = 0;
  let valueSquares = 0;
  for (let at = from; at < to; at += 1) {
    const row = indices[at] as number;
    const error = parts[row] as number;
    if (Number.isNaN(error)) continue;
    const value = values[row] as number;
    shots += 1;
    squares += error * error;
    valueSquares += value * value;
  }
  sums[0] = (sums[0] as number) + (to - from);
  sums[1] = (sums[1] as number) + shots;
  sums[2] = (sums[2] as number) + squares;
  sums[3] = (sums[3] as number) + valueSquares;
}

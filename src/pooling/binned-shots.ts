/** Shots in up to twenty bins of equal width over one variable: means as measured, and of what the model leaves over. */
import type { VariableName } from '../../shared/quantities.ts';
import type { RegressionResult } from '../../shared/regression.ts';
import { chunkSize } from '../statistics/moments.ts';
import type { ShotColumns } from './columns.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';
import { labLevels, residualsOfChunk } from './residuals.ts';

const binCount = 20;
/** Sums kept a bin: shots, variable, response, residual, its square. */
const sumsPerBin = 5;

export interface BinAxis {
  readonly variable: VariableName;
  /** Of the shots. */
  readonly range: { readonly min: number; readonly max: number };
  /** The curve at values of the variable. */
  readonly curveAt: (values: readonly number[]) => readonly number[];
}

/** @param indices chosen rows */
export function binnedShots(
  columns: ShotColumns,
  indices: Int32Array,
  design: RegressionDesign,
  model: RegressionModel,
  response: VariableName,
  { variable, range, curveAt }: BinAxis,
): NonNullable<RegressionResult['curve']>['bins'] {
  const width = (range.max - range.min) / binCount;
  if (!(width > 0)) return [];
  const values = columns.variables[variable];
  const responses = columns.variables[response];
  const levels = labLevels(design, model);
  const sums = new Float64Array(binCount * sumsPerBin);
  const chunk = residualsOfChunk(design, model);
  for (const { group, from, to } of design.stretches) {
    const level = levels[group] as number;
    for (let start = from; start < to; start += chunkSize) {
      const end = Math.min(start + chunkSize, to);
      const residuals = chunk(start, end, level);
      addToBins(sums, residuals, values, responses, indices, start, end, range.min, width);
    }
  }
  const bins = Array.from({ length: binCount }, (_, bin) => {
    const at = (sum: number) => sums[bin * sumsPerBin + sum] as number;
    const shots = at(0);
    return { bin, shots, mean: at(1) / shots, response: at(2) / shots, residual: at(3) / shots, square: at(4) / shots };
  }).filter(({ shots }) => shots > 0);
  const onCurve = curveAt(bins.map(({ mean }) => mean));
  return bins.map(({ bin, shots, mean, response: measured, residual, square }, place) => ({
    from: range.min + bin * width,
    to: range.min + (bin + 1) * width,
    shots,
    mean,
    response: measured,
    adjusted: (onCurve[place] as number) + residual,
    spread: Math.sqrt(square),
  }));
}

function addToBins(
  sums: Float64Array,
  residuals: Float64Array,
  values: Float64Array,
  responses: Float64Array,
  indices: Int32Array,
  from: number,
  to: number,
  least: number,
  width: number,
): void {
  for (let at = from; at < to; at += 1) {
    const row = indices[at] as number;
    const value = values[row] as number;
    const residual = residuals[at - from] as number;
    const place = Math.min(binCount - 1, Math.floor((value - least) / width)) * sumsPerBin;
    sums[place] = (sums[place] as number) + 1;
    sums[place + 1] = (sums[place + 1] as number) + value;
    sums[place + 2] = (sums[place + 2] as number) + (responses[row] as number);
    sums[place + 3] = (sums[place + 3] as number) + residual;
    sums[place + 4] = (sums[place + 4] as number) + residual * residual;
  }
}

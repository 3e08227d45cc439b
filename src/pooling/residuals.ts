/** What a fitted model leaves over of each shot, chunk by chunk. */
import { chunkSize } from '../statistics/moments.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';

/** Response, less its offset, that the model gives each lab where every column is zero; by lab code. */
export function labLevels(design: RegressionDesign, model: RegressionModel): Float64Array {
  const terms = design.basis.terms.length;
  return Float64Array.from(design.labs, ({ means }) => {
    const within = model.fit.model === 'within' && model.mixed === null;
    const own = within ? means : model.means;
    let level = within ? (means[terms] as number) : model.atMeans;
    for (let j = 0; j < terms; j += 1) level -= (own[j] as number) * (model.slopes[j] as number);
    return level;
  });
}

/**
 * @returns a function that gives the residuals of the chosen rows [from, to), at most one chunk, of a lab with the given
 * level; the array is overwritten by the next call
 */
export function residualsOfChunk(
  design: RegressionDesign,
  { slopes }: Pick<RegressionModel, 'slopes'>,
): (from: number, to: number, level: number) => Float64Array {
  const terms = design.basis.terms.length;
  const block = Array.from({ length: terms + 1 }, () => new Float64Array(chunkSize));
  const residuals = block[terms] as Float64Array;
  return (from, to, level) => {
    const count = to - from;
    design.fill(block, from, to);
    for (let row = 0; row < count; row += 1) residuals[row] = (residuals[row] as number) - level;
    for (let j = 0; j < terms; j += 1) takeOff(residuals, block[j] as Float64Array, slopes[j] as number, count);
    return residuals;
  };
}

function takeOff(residuals: Float64Array, column: Float64Array, slope: number, count: number): void {
  for (let row = 0; row < count; row += 1) {
    residuals[row] = (residuals[row] as number) - (column[row] as number) * slope;
  }
}

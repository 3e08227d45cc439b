/** The shots that move the answer most: leverage, Cook's distance, externally studentised residual. */
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { chunkSize } from '../statistics/moments.ts';
import type { ShotColumns } from './columns.ts';
import { rounded } from './figures-in-words.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';

type Influence = NonNullable<RegressionResult['influence']>;
type Shot = Influence['byDistance'][number];

const shown = 20;
/** Above this, 1 - h is rounding: the shot alone determines a coefficient. */
const fullLeverage = 1 - 1e-10;

interface Candidate {
  readonly row: number;
  readonly leverage: number;
  readonly residual: number;
}

/**
 * With h = 1/n + x'S^-1 x (n and the centre of x those of the level), s2 the residual variance on f degrees of freedom and
 * k coefficients: t2 = r2 (f - 1) / (f s2 (1 - h) - r2) and D = r2 h / (k s2 (1 - h)^2) (Belsley, Kuh & Welsch 1980;
 * Cook 1977, Technometrics 19:15). A level of a lab counts as a coefficient of that lab's shots alone.
 */
export function influentialShots(
  columns: ShotColumns,
  indices: Int32Array,
  design: RegressionDesign,
  model: RegressionModel,
  { influence, labs }: RegressionSpecification,
): RegressionResult['influence'] {
  if (!influence || model.mixed !== null || labs === 'synthesis') return null;
  const { fit } = model;
  const { predictors: p, residualVariance: variance, degreesOfFreedom: degrees } = fit;
  const coefficients = p + (fit.model === 'throughOrigin' ? 0 : 1);
  const studentised = ({ leverage, residual }: Candidate) => {
    const left = degrees * variance * (1 - leverage) - residual * residual;
    if (leverage > fullLeverage || degrees < 2) return null;
    if (!(left > 1e-12 * degrees * variance)) return null;
    return residual * Math.sqrt((degrees - 1) / left);
  };
  const distance = ({ leverage, residual }: Candidate) =>
    leverage > fullLeverage || !(variance > 0)
      ? null
      : (residual * residual * leverage) / (coefficients * variance * (1 - leverage) * (1 - leverage));
  const far = new Highest(({ leverage, residual }) =>
    leverage > fullLeverage
      ? Number.POSITIVE_INFINITY
      : (residual * residual * leverage) / ((1 - leverage) * (1 - leverage)),
  );
  // The studentised residual rises with r2 / (1 - h).
  const outlying = new Highest(({ leverage, residual }) =>
    leverage > fullLeverage ? 0 : (residual * residual) / (1 - leverage),
  );
  eachShot(indices, design, model, (candidate) => {
    far.offer(candidate);
    outlying.offer(candidate);
  });
  const { codes, names } = columns.groups.lab;
  const shot = (candidate: Candidate): Shot => {
    const lab = names[codes[candidate.row] as number] as string;
    const label = columns.labels[candidate.row] as string;
    const [residual, cook] = [studentised(candidate), distance(candidate)];
    return {
      lab,
      label,
      leverage: Math.min(1, candidate.leverage),
      residual,
      distance: cook,
      sentence: words(residual, cook),
    };
  };
  return {
    byDistance: far.kept().map(shot),
    byResidual: outlying.kept().map(shot),
    meaning:
      'Shots that move the slopes most (Cook distance; above 1 is much) and shots that lie farthest off (residual in standard errors, the shot itself left out). Look at them again; nothing was left out of the answer.',
  };
}

function words(residual: number | null, distance: number | null): string {
  if (distance === null) return 'This shot alone determines a coefficient: without it there would be no answer.';
  const off =
    residual === null ? '' : `; it lies ${rounded(Math.abs(residual), 3)} standard errors off the fit of the others`;
  return `Leaving this shot out moves the coefficients by a Cook distance of ${rounded(distance, 3)}${off}.`;
}

function eachShot(
  indices: Int32Array,
  { fill, labs, stretches }: RegressionDesign,
  { fit, slopes }: RegressionModel,
  visit: (candidate: Candidate) => void,
): void {
  const { predictors: p, factor, scales } = fit;
  const block = Array.from({ length: p + 1 }, () => new Float64Array(chunkSize));
  const white = new Float64Array(p);
  for (const { group, from, to } of stretches) {
    const own = labs[group] as (typeof labs)[number];
    const level = fit.model === 'within' ? own : fit;
    const share = fit.model === 'throughOrigin' ? 0 : 1 / level.count;
    for (let start = from; start < to; start += chunkSize) {
      const end = Math.min(start + chunkSize, to);
      fill(block, start, end);
      for (let at = 0; at < end - start; at += 1) {
        let residual = ((block[p] as Float64Array)[at] as number) - (level.means[p] as number);
        let leverage = share;
        for (let j = 0; j < p; j += 1) {
          const x = ((block[j] as Float64Array)[at] as number) - (level.means[j] as number);
          residual -= x * (slopes[j] as number);
          let sum = x / (scales[j] as number);
          for (let k = 0; k < j; k += 1) sum -= (factor.lower[j * p + k] as number) * (white[k] as number);
          white[j] = sum / (factor.lower[j * p + j] as number);
          leverage += (white[j] as number) * (white[j] as number);
        }
        visit({ row: indices[start + at] as number, leverage, residual });
      }
    }
  }
}

/** The candidates with the highest scores; of equal ones the first. */
class Highest {
  #kept: { readonly candidate: Candidate; readonly score: number }[] = [];
  readonly #score: (candidate: Candidate) => number;

  constructor(score: (candidate: Candidate) => number) {
    this.#score = score;
  }

  offer(candidate: Candidate): void {
    const score = this.#score(candidate);
    if (this.#kept.length === shown && !(score > (this.#kept[shown - 1]?.score ?? 0))) return;
    const place = this.#kept.findIndex((other) => score > other.score);
    this.#kept.splice(place < 0 ? this.#kept.length : place, 0, { candidate, score });
    if (this.#kept.length > shown) this.#kept.pop();
  }

  kept(): Candidate[] {
    return this.#kept.map(({ candidate }) => candidate);
  }
}

/** How the stated uncertainty of an averaged speed and acceleration compares with the error that the value has. */
import { fitTrack, interval95 } from '../../src/kinematics/fit-track.ts';
import { type StrokeFamily, seededUniform, simulateTrack } from '../kinematics/simulated-strokes.ts';

export interface ErrorCell {
  readonly family: StrokeFamily;
  /** Frames per second. */
  readonly captureRate: number;
  /** Standard deviation of one position, m. */
  readonly noise: number;
}

/** Root mean squares over tracks: the true error, the stated standard uncertainty, half the 95 % interval over 1.96. */
export interface ErrorSizes {
  readonly error: number;
  readonly stated: number;
  readonly interval: number;
}

/** Orders 2 to 4 averaged, window 40 ms. */
export function errorSizes(
  cell: ErrorCell,
  tracks: number,
  seed: number,
): { speed: ErrorSizes; acceleration: ErrorSizes } {
  const uniform = seededUniform(seed);
  const sums = { speed: [0, 0, 0], acceleration: [0, 0, 0] };
  for (let n = 0; n < tracks; n += 1) {
    const track = simulateTrack(cell.family, cell.captureRate, cell.noise, 0.052, uniform);
    const fit = fitTrack({ ...track, order: null, window: 0.04 });
    if (!fit.ok || fit.acceleration === null || fit.accelerationInterval === null) throw new Error('no acceleration');
    add(sums.speed, fit.speed - track.speed, fit.speedUncertainty, interval95(fit.speed, fit.speedInterval));
    add(
      sums.acceleration,
      fit.acceleration - track.acceleration,
      fit.accelerationUncertainty ?? Number.NaN,
      interval95(fit.acceleration, fit.accelerationInterval),
    );
  }
  const sizes = ([error, stated, interval]: number[]): ErrorSizes => ({
    error: Math.sqrt((error as number) / tracks),
    stated: Math.sqrt((stated as number) / tracks),
    interval: Math.sqrt((interval as number) / tracks),
  });
  return { speed: sizes(sums.speed), acceleration: sizes(sums.acceleration) };
}

function add(sums: number[], error: number, stated: number, { lower, upper }: { lower: number; upper: number }): void {
  const half = (upper - lower) / 2 / 1.96;
  [error, stated, half].forEach((value, place) => {
    sums[place] = (sums[place] as number) + value * value;
  });
}

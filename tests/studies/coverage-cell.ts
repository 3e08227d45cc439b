/**
 * One condition of the coverage study: tracks simulated with known speed and acceleration at contact, and the share of
 * them in which the 95 % intervals hold the truth.
 */
import { fitTrack, interval95 } from '../../src/kinematics/fit-track.ts';
import { normalDeviates, type StrokeFamily, seededUniform, simulateTrack } from '../kinematics/simulated-strokes.ts';

export interface CoverageCell {
  readonly family: StrokeFamily;
  /** Frames per second. */
  readonly captureRate: number;
  /** Standard deviation of one position, m. */
  readonly noise: number;
  /** First-order autoregression of the noise. */
  readonly autoregression: number;
  /** Fixed by the rig, or null for the average of 2, 3 and 4. */
  readonly order: number | null;
  /** s. */
  readonly window: number;
}

export interface Coverage {
  /** Shares of tracks. */
  readonly speed: number;
  readonly acceleration: number;
  /** With the flag serialCorrelation, fitSensitive or intervalNotAssured. */
  readonly flagged: number;
  /** With one of the first two: what the track shows, not what it could not. */
  readonly flaggedBySight: number;
}

/** Order of the polynomial that a family is, as far as the window shows; strokes that are none need the highest. */
const orderOfFamily = { constantAcceleration: 2, constantJerk: 3, swing: 4, fromRest: 4 } as const;

/**
 * Whether the assumptions of the method hold: the polynomial can follow the stroke, and the noise is white, or first-order
 * autoregressive with at least 16 points and 8 independent ones for each coefficient.
 */
export function assumptionsHold({ family, captureRate, autoregression, order, window }: CoverageCell): boolean {
  if ((order ?? 4) < orderOfFamily[family]) return false;
  const coefficients = (order ?? 4) + 1;
  const points = Math.round(captureRate * window);
  const kappa = (1 + autoregression) / (1 - autoregression);
  return autoregression === 0 || points >= coefficients * Math.max(16, 8 * kappa);
}

export function coverageOf(cell: CoverageCell, tracks: number, seed: number): Coverage {
  const uniform = seededUniform(seed);
  const normal = normalDeviates(uniform);
  const { autoregression: phi, noise, window, order } = cell;
  const fresh = Math.sqrt(1 - phi * phi);
  let speeds = 0;
  let accelerations = 0;
  let flagged = 0;
  let flaggedBySight = 0;
  for (let n = 0; n < tracks; n += 1) {
    const track = simulateTrack(cell.family, cell.captureRate, 0, 1.3 * window, uniform);
    let error = normal();
    for (let i = 0; i < track.positions.length; i += 1) {
      track.positions[i] = (track.positions[i] ?? 0) + noise * error;
      error = phi * error + fresh * normal();
    }
    const fit = fitTrack({ ...track, order, window });
    if (!fit.ok || fit.acceleration === null || fit.accelerationInterval === null) throw new Error('no acceleration');
    const speed = interval95(fit.speed, fit.speedInterval);
    const acceleration = interval95(fit.acceleration, fit.accelerationInterval);
    speeds += Number(speed.lower <= track.speed && track.speed <= speed.upper);
    accelerations += Number(acceleration.lower <= track.acceleration && track.acceleration <= acceleration.upper);
    const seen = fit.seriallyCorrelated || fit.model.exceedsNoise;
    flagged += Number(seen || !fit.intervalsAssured);
    flaggedBySight += Number(seen);
  }
  return {
    speed: speeds / tracks,
    acceleration: accelerations / tracks,
    flagged: flagged / tracks,
    flaggedBySight: flaggedBySight / tracks,
  };
}

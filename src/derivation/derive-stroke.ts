/** Cue speed and acceleration just before first contact, from the cue track before it. */
import type { Estimate, TrackFit } from '../../shared/derivation.ts';
import type { CueTrack } from '../../shared/shot.ts';
import { fitTrack, interval95 } from '../kinematics/fit-track.ts';
import type { TrackFit as Fit, IntervalParts } from '../kinematics/track-fit.ts';
import { type BudgetEntry, budgetEntry, relativeEntry } from './budget.ts';
import { rootSumSquares } from './estimate.ts';
import type { FirstContact } from './first-contact.ts';
import { type ScaledTrack, scaleTrack } from './scale-track.ts';
import type { SettledGear } from './settle-gear.ts';

export interface DerivedStroke {
  readonly ok: true;
  /** m/s. */
  readonly cueSpeed: Estimate;
  /** m/s2; null when the order is 1. */
  readonly cueAcceleration: Estimate | null;
  /** m2/s3; with the common errors of scale and capture rate. */
  readonly covariance: number | null;
  readonly fit: TrackFit;
  /** Whether the correlation of neighbouring residuals is significant. */
  readonly seriallyCorrelated: boolean;
  /** Whether the track itself can show that the intervals hold. */
  readonly intervalsAssured: boolean;
  readonly budget: readonly BudgetEntry[];
  readonly track: ScaledTrack;
}
export type StrokeResult =
  | DerivedStroke
  | {
      readonly ok: false;
      readonly reason: 'tooFewPoints' | 'motionless' | 'scaleMissing' | 'notIncreasing' | 'notFinite';
    };

/**
 * Fits the track and adds what is common to all shots of the rig. Lengths carry the relative uncertainty of the scale
 * s, rates that of the clock c: speed ~ s c, acceleration ~ s c^2, so
 *
 *   u(V)^2 = u_fit^2 + V^2 (u_s^2 + u_c^2),  u(a)^2 = u_fit^2 + a^2 (u_s^2 + 4 u_c^2),
 *   cov(V, a) = cov_fit + V a (u_s^2 + 2 u_c^2)
 *
 * (GUM, JCGM 100:2008 5.2.2 eq. 13; from memory).
 */
export function deriveStroke(
  track: CueTrack,
  closedFrame: number,
  contact: FirstContact,
  gear: SettledGear,
): StrokeResult {
  const scaled = scaleTrack(track, closedFrame, contact, gear);
  if (scaled === null) return { ok: false, reason: 'scaleMissing' };
  if (!isIncreasing(scaled.times)) return { ok: false, reason: 'notIncreasing' };
  const contactUncertainty = contact.standardUncertainty / gear.captureRate;
  const fit = fitTrack({
    times: scaled.times,
    positions: scaled.positions,
    order: gear.fitOrder,
    window: gear.fitWindow,
    firstContactUncertainty: contactUncertainty,
    firstContactShape: contact.shape,
    outlyingPoints: gear.outlyingFrames,
  });
  if (!fit.ok) return fit;

  const s = gear.scaleUncertainty;
  const c = gear.clockUncertainty;
  const { speed, acceleration } = fit;
  const cueSpeed = estimate(speed, fit.speedUncertainty, fit.speedInterval, Math.abs(speed) * rootSumSquares(s, c));
  const cueAcceleration =
    acceleration === null || fit.accelerationUncertainty === null || fit.accelerationInterval === null
      ? null
      : estimate(
          acceleration,
          fit.accelerationUncertainty,
          fit.accelerationInterval,
          Math.abs(acceleration) * rootSumSquares(s, 2 * c),
        );
  const covariance =
    fit.covariance === null || acceleration === null
      ? null
      : fit.covariance + speed * acceleration * (s * s + 2 * c * c);
  const numbers = [
    cueSpeed.value,
    cueSpeed.lower,
    cueSpeed.upper,
    cueAcceleration?.lower ?? 0,
    cueAcceleration?.upper ?? 0,
    covariance ?? 0,
  ];
  if (!numbers.every(Number.isFinite)) return { ok: false, reason: 'notFinite' };
  return {
    ok: true,
    cueSpeed,
    cueAcceleration,
    covariance,
    fit: describeFit(fit, scaled, gear),
    seriallyCorrelated: fit.seriallyCorrelated,
    intervalsAssured: fit.intervalsAssured,
    budget: [
      ...budgetEntries(
        'cueSpeed',
        speed,
        fit.speedUncertainty,
        acceleration ?? 0,
        contactUncertainty,
        fit.model.speedUncertainty,
      ),
      relativeEntry('cueSpeed', 'scale', s, speed, 'rig'),
      relativeEntry('cueSpeed', 'capture rate', c, speed, 'rig'),
      ...(acceleration === null || fit.accelerationUncertainty === null
        ? []
        : [
            ...budgetEntries(
              'cueAcceleration',
              acceleration,
              fit.accelerationUncertainty,
              fit.jerk,
              contactUncertainty,
              fit.model.accelerationUncertainty,
            ),
            relativeEntry('cueAcceleration', 'scale', s, acceleration, 'rig'),
            relativeEntry('cueAcceleration', 'capture rate', c, 2 * acceleration, 'rig'),
          ]),
    ],
    track: scaled,
  };
}

function isIncreasing(times: Float64Array): boolean {
  for (let i = 1; i < times.length; i++) if (!((times[i] as number) > (times[i - 1] as number))) return false;
  return true;
}

function estimate(value: number, fitUncertainty: number, parts: IntervalParts, common: number): Estimate {
  const { lower, upper } = interval95(value, parts, common);
  return { value, standardUncertainty: rootSumSquares(fitUncertainty, common), lower, upper };
}

/** What the fit gives holds the shares of the uncertain instant of contact and of window and order: the budget shows them apart. */
function budgetEntries(
  result: 'cueSpeed' | 'cueAcceleration',
  value: number,
  fitUncertainty: number,
  slope: number,
  contactUncertainty: number,
  modelUncertainty: number,
): BudgetEntry[] {
  const contactShift = slope * contactUncertainty;
  const others = contactShift * contactShift + modelUncertainty * modelUncertainty;
  const standardUncertainty = Math.sqrt(Math.max(0, fitUncertainty * fitUncertainty - others));
  const unit = result === 'cueSpeed' ? 'm/s' : 'm/s2';
  const instant = { input: 'instant of first contact', value: 0, unit: 's', standardUncertainty: contactUncertainty };
  const model = { input: 'window and order of the fit', value: 0, unit, standardUncertainty: modelUncertainty };
  return [
    budgetEntry(result, { input: 'track fit', value, unit, standardUncertainty }, 1, 'A', 'shot'),
    budgetEntry(result, model, 1, 'B', 'shot'),
    budgetEntry(result, instant, slope, 'B', 'shot'),
  ];
}

function describeFit(fit: Fit, track: ScaledTrack, gear: SettledGear): TrackFit {
  return {
    window: fit.window,
    points: fit.points,
    order: fit.order,
    fixedByRig: gear.fitOrder !== null,
    residualStandardDeviation: fit.residualStandardDeviation,
    lagOneCorrelation: fit.lagOneCorrelation,
    durbinWatson: fit.durbinWatson,
    autoregression: fit.autoregression,
    uncertaintyInflation: fit.uncertaintyInflation,
    outlyingFrames: fit.outlyingIndices.map((index) => track.frames[index] ?? 0),
    outlyingLeftOut: gear.outlyingFrames === 'leaveOut',
    candidates: fit.candidates.map((candidate) => ({ ...candidate })),
    orders: fit.orders.map((row) => ({
      order: row.order,
      residualStandardDeviation: row.residualStandardDeviation,
      cueSpeed: row.speed,
      cueSpeedUncertainty: row.speedUncertainty,
      cueAcceleration: row.order > 1 ? row.acceleration : null,
      cueAccelerationUncertainty: row.order > 1 ? row.accelerationUncertainty : null,
      aicc: row.aicc,
      fStatistic: row.fStatistic,
      press: row.press,
    })),
    sensitivity: fit.sensitivity.map((row) => ({ ...row })),
    exceedsNoise: fit.model.exceedsNoise,
    resolvingWindow: fit.resolvingWindow,
  };
}

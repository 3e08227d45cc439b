/** Cue speed and acceleration just before first contact, from the cue track before it. */
import type { BudgetLine, Estimate, TrackFit } from '../../shared/derivation.ts';
import type { CueTrack } from '../../shared/shot.ts';
import { type TrackFit as Fit, fitTrack, type IntervalParts, interval95 } from '../kinematics/fit-track.ts';
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
  readonly budget: readonly BudgetLine[];
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
    budget: [
      ...budgetLines('cueSpeed', speed, fit.speedUncertainty, (acceleration ?? 0) * contactUncertainty, s, c),
      ...(acceleration === null || fit.accelerationUncertainty === null
        ? []
        : budgetLines(
            'cueAcceleration',
            acceleration,
            fit.accelerationUncertainty,
            fit.jerk * contactUncertainty,
            s,
            2 * c,
          )),
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

function budgetLines(
  result: 'cueSpeed' | 'cueAcceleration',
  value: number,
  fitUncertainty: number,
  contactShift: number,
  scale: number,
  clock: number,
): BudgetLine[] {
  const size = Math.abs(value);
  // What the fit gives holds the share of the uncertain instant of contact; the budget shows the two apart.
  const shape = Math.sqrt(Math.max(0, fitUncertainty * fitUncertainty - contactShift * contactShift));
  return [
    { result, input: 'track fit', contribution: shape, kind: 'A', commonTo: 'shot' },
    { result, input: 'instant of first contact', contribution: Math.abs(contactShift), kind: 'B', commonTo: 'shot' },
    { result, input: 'scale', contribution: size * scale, kind: 'B', commonTo: 'rig' },
    { result, input: 'capture rate', contribution: size * clock, kind: 'B', commonTo: 'rig' },
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
    uncertaintyInflation: fit.uncertaintyInflation,
    outlyingFrames: fit.outlyingIndices.map((index) => track.frames[index] ?? 0),
    candidates: fit.candidates.map((candidate) => ({ ...candidate })),
  };
}

import type { BallTrack } from '../../shared/shot.ts';
import { convertOptional } from './convert-measure.ts';
import { type ScaledTrack, scaleTrack } from './scale-track.ts';
import type { SettledGear } from './settle-gear.ts';

export interface ScaledBallTrack {
  /** Times in s on the clock of the camera (frame over capture rate); null without a scale. */
  readonly scaled: ScaledTrack | null;
  /** Of the camera that filmed the ball, else of the rig, frames/s. */
  readonly captureRate: number;
  /** As sent with the track; null when the camera of the rig is meant. */
  readonly ownRate: number | null;
}

/** A ball track in SI, by the rate and scale of its own camera where it has them. */
export function scaleBallTrack(track: BallTrack, gear: SettledGear): ScaledBallTrack {
  const ownRate = convertOptional(track.captureRate, 'captureRate', gear.context);
  const captureRate = ownRate !== null && ownRate > 0 ? ownRate : gear.captureRate;
  const context = { ...gear.context, captureRate };
  const metresPerPixel = convertOptional(track.scale, 'scale', context) ?? gear.context.metresPerPixel;
  const camera: SettledGear = {
    ...gear,
    captureRate,
    context: { ...context, metresPerPixel },
    rig: { ...gear.rig, positiveTowardsBall: true },
  };
  const whole = { frame: 0, standardUncertainty: 0, shape: 'rectangular' as const };
  return { scaled: scaleTrack(track, Number.POSITIVE_INFINITY, whole, camera), captureRate, ownRate };
}
